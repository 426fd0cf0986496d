package frame

import (
	"bytes"
	"fmt"
	"hash/fnv"
	"regexp"
	"slices"
	"strconv"
)

// patternGroups are the named groups a pattern may have.
var patternGroups = []string{"value", "unit", "sign", "state", "hold", "low_battery", "over", "seq", "channel"}

// otherChannel is why a line is not this gauge's.
const otherChannel = "of another channel"

// newPatternLine returns what reads lines by a regular expression.
func newPatternLine(pattern string, simple *simpleLine) (lineReader, error) {
	re, err := regexp.Compile(`^(?:` + pattern + `)$`)
	if err != nil {
		return nil, fmt.Errorf("pattern %q: %w", pattern, err)
	}
	for _, name := range re.SubexpNames() {
		if name != "" && !slices.Contains(patternGroups, name) {
			return nil, fmt.Errorf("pattern %q: group %q, want value, unit, sign, state, hold, low_battery, over, seq or channel", pattern, name)
		}
	}
	if re.SubexpIndex("value") < 0 {
		return nil, fmt.Errorf("pattern %q: no group (?P<value>...)", pattern)
	}
	if given := re.SubexpIndex("channel") >= 0; given != (simple.channel != "") {
		return nil, fmt.Errorf("channel %q: want one, and a group (?P<channel>...) in the pattern", simple.channel)
	}
	return func(line []byte) (Frame, number) { return simple.readBy(re, line) }, nil
}

// readBy decodes one line by a pattern; every group that took part must be sound.
func (s *simpleLine) readBy(re *regexp.Regexp, line []byte) (Frame, number) {
	if i := bytes.IndexFunc(line, isControl); i >= 0 {
		return Frame{Bad: stray(line[i])}, number{}
	}
	at := re.FindSubmatchIndex(line)
	if at == nil {
		return Frame{Bad: "line does not fit the pattern"}, number{}
	}
	text := func(name string) []byte {
		i := re.SubexpIndex(name)
		if i < 0 || at[2*i] < 0 {
			return nil
		}
		return trim(line[at[2*i]:at[2*i+1]])
	}
	if string(text("channel")) != s.channel {
		return Frame{Bad: otherChannel}, number{}
	}
	f, n := s.read(text("value"))
	if f.Bad != "" {
		return Frame{Bad: f.Bad, Flags: f.Flags}, number{}
	}
	if s.signed(&n, &f, text("sign")); f.Bad != "" {
		return Frame{Bad: f.Bad}, number{}
	}
	if word := text("unit"); len(word) > 0 {
		if f.Unit = s.meaning(word); Quantity(f.Unit) == "" {
			return Frame{Bad: "unit is not known"}, number{}
		}
	}
	if word := text("state"); len(word) > 0 {
		means := s.meaning(word)
		if means == "" {
			return Frame{Bad: "state is not known"}, number{}
		}
		if f.heed(means); means == wordOver { // the number beside it is none
			return Frame{Bad: "over range", Flags: f.Flags}, number{}
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
