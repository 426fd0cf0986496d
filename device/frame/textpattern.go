package frame

import (
	"fmt"
	"hash/fnv"
	"regexp"
	"slices"
	"strconv"
)

// patternGroups are the named groups a pattern may have.
var patternGroups = []string{"value", "unit", "sign", "hold", "low_battery", "over", "seq"}

// A patternLine reads lines by a regular expression.
type patternLine struct {
	re     *regexp.Regexp
	simple *simpleLine
}

func newPatternLine(pattern string, simple *simpleLine) (lineReader, error) {
	re, err := regexp.Compile(`^(?:` + pattern + `)$`)
	if err != nil {
		return nil, fmt.Errorf("pattern %q: %w", pattern, err)
	}
	for _, name := range re.SubexpNames() {
		if name != "" && !slices.Contains(patternGroups, name) {
			return nil, fmt.Errorf("pattern %q: group %q, want value, unit, sign, hold, low_battery, over or seq", pattern, name)
		}
	}
	if re.SubexpIndex("value") < 0 {
		return nil, fmt.Errorf("pattern %q: no group (?P<value>...)", pattern)
	}
	return (&patternLine{re, simple}).read, nil
}

// read decodes one line; every group that took part must be sound.
func (p *patternLine) read(line []byte) (Frame, number) {
	at := p.re.FindSubmatchIndex(line)
	if at == nil {
		return Frame{Bad: "line does not fit the pattern"}, number{}
	}
	text := func(name string) []byte {
		i := p.re.SubexpIndex(name)
		if i < 0 || at[2*i] < 0 {
			return nil
		}
		return trim(line[at[2*i]:at[2*i+1]])
	}
	var f Frame
	value := text("value")
	n, next := scanNumber(value, 0, p.simple.point, p.simple.comma)
	if next != len(value) {
		return Frame{Bad: "value is not a number"}, number{}
	}
	f.Value = n.value
	switch sign := text("sign"); {
	case len(sign) == 0 || string(sign) == "+":
		n.plus = n.plus || len(sign) == 1
	case string(sign) == "-" && !n.minus:
		n.minus, f.Value = true, -f.Value
	default:
		return Frame{Bad: "sign is not understood"}, number{}
	}
	if word := text("unit"); len(word) > 0 {
		if f.Unit = p.simple.unitWord(word); f.Unit == "" {
			return Frame{Bad: "unit is not known"}, number{}
		}
	}
	for name, flag := range map[string]Flags{"hold": FlagHold, "low_battery": FlagLowBattery, "over": FlagOverRange} {
		if len(text(name)) > 0 {
			f.Flags |= flag
		}
	}
	if seq := text("seq"); len(seq) > 0 {
		f.Numbered, f.Seq = true, sequence(seq)
	}
	return f, n
}

// sequence returns the number in a count or time stamp field, or for any
// other text a value that differs when the text does.
func sequence(b []byte) int64 {
	if v, err := strconv.ParseInt(string(b), 10, 64); err == nil {
		return v
	}
	h := fnv.New64a()
	h.Write(b)
	return int64(h.Sum64())
}
