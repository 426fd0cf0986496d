package identify

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// textCandidates proposes line forms for printable text.
func textCandidates(b []byte) []candidate {
	lines, end := splitLines(b)
	if len(lines) < leastFrames || !mostly(lines, printable) {
		return nil
	}
	base := device.Profile{Name: "heard-text", Title: "text lines, found by listening", Frame: device.FrameText}
	list := []candidate{}
	if mostly(lines, exponentNumber.Match) {
		p := base
		p.Name, p.Title, p.Frame, p.Mode = "heard-scpi", "number answers, found by listening", device.FrameSCPI, device.ModeAsked
		p.SCPI = &frame.SCPI{Query: "READ?"}
		list = append(list, candidate{p, 3})
	}
	simple := base
	simple.Text = &frame.Text{LineEnd: end}
	if fits(simple, lines) {
		return append(list, candidate{describe(simple, lines), 2})
	}
	simple.Text = &frame.Text{LineEnd: end, Decimals: "free"}
	if fits(simple, lines) {
		return append(list, candidate{describe(simple, lines), 1.9})
	}
	if p, ok := columnProfile(base, lines, end); ok {
		list = append(list, candidate{describe(p, lines), 1.8})
	}
	return list
}

// splitLines cuts at the line end in use, which it names: CR and LF together
// where both come so, CR where no LF comes at all. The first line is left out,
// for it may be cut, and what follows the last line end too.
func splitLines(b []byte) (lines [][]byte, end string) {
	for _, e := range []struct{ name, sep string }{{"crlf", "\r\n"}, {"cr", "\r"}, {"lf", "\n"}} {
		parts := bytes.Split(b, []byte(e.sep))
		if len(parts) > leastFrames && (e.name != "cr" || !bytes.Contains(b, []byte("\n"))) {
			return parts[1 : len(parts)-1], e.name
		}
	}
	return nil, ""
}

// mostly reports whether nearly all lines are as ok says.
func mostly(lines [][]byte, ok func(line []byte) bool) bool {
	good := 0
	for _, l := range lines {
		if ok(l) {
			good++
		}
	}
	return nearlyAll(good, lines)
}

// nearlyAll reports whether so many are enough of the lines: as many as have to
// be sound in the end.
func nearlyAll(good int, lines [][]byte) bool {
	return float64(good) >= leastClean*float64(len(lines))
}

// printable reports whether a line is text of a sensible length.
func printable(l []byte) bool {
	control := func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }
	return len(l) > 0 && len(l) <= frame.DefaultMaxLength && !bytes.ContainsFunc(l, control)
}

// exponentNumber is a bare number with an exponent, as only instruments that
// are asked send them.
var exponentNumber = regexp.MustCompile(`^[+-]? *(\d+\.?\d*|\.\d+)[eE][+-]?\d+$`)

// fits reports whether nearly all lines are sound.
func fits(p device.Profile, lines [][]byte) bool { return nearlyAll(len(soundFrames(p, lines)), lines) }

// soundFrames decodes the lines, the Raw of each left out. They are joined by
// LF, whatever parted them: the line end was found before.
func soundFrames(p device.Profile, lines [][]byte) []frame.Frame {
	t := *p.Text
	t.LineEnd = "lf"
	dec, err := t.NewDecoder()
	if err != nil {
		return nil
	}
	var list []frame.Frame
	dec.Feed(append(bytes.Join(lines, []byte("\n")), '\n'), func(f *frame.Frame) {
		if f.Bad == "" {
			own := *f
			own.Raw = nil
			list = append(list, own)
		}
	})
	dec.Flush()
	return list
}

// describe fills unit, quantity and resolution of a profile from the lines. Of
// units that are as frequent it takes the one that was first so often.
func describe(p device.Profile, lines [][]byte) device.Profile {
	units, decimals := map[string]int{}, 0
	for _, f := range soundFrames(p, lines) {
		decimals = max(decimals, f.Decimals)
		if units[f.Unit]++; units[f.Unit] > units[p.Unit] {
			p.Unit = f.Unit
		}
	}
	p.Quantity = frame.Quantity(p.Unit)
	p.Resolution = resolutionOf(decimals)
	if p.Text.Column > 0 {
		p.Title = fmt.Sprintf("value in column %d of %d, found by listening", p.Text.Column, p.Text.Columns)
	}
	return p
}

// columnProfile finds the column of a measured value: a number with a
// decimal mark in every line, that changes and is not a clock or a counter.
func columnProfile(base device.Profile, lines [][]byte, end string) (device.Profile, bool) {
	for _, sep := range []string{";", "\t", ",", "|", " "} {
		count := strings.Count(string(lines[0]), sep) + 1
		even := func(l []byte) bool { return bytes.Count(l, []byte(sep))+1 == count }
		if count < 2 || !mostly(lines, even) || sep == "," && thousands(lines) {
			continue
		}
		best, bestScore := 0, 1.0 // a number alone is nothing: it must change or have a decimal mark
		for column := 1; column <= count; column++ {
			if s := columnScore(lines, sep, column); s > bestScore {
				best, bestScore = column, s
			}
		}
		if best == 0 {
			continue
		}
		p := base
		p.Name = "heard-columns"
		unit := unitColumn(lines, sep, count)
		for _, decimals := range []string{"", "free"} {
			p.Text = &frame.Text{LineEnd: end, Separator: sep, Column: best, Columns: count, UnitAt: unit, Decimals: decimals}
			if fits(p, lines) {
				return p, true
			}
		}
	}
	return device.Profile{}, false
}

// thousandsNumber has a comma before three digits.
var thousandsNumber = regexp.MustCompile(`^[+\- 0-9]*,\d{3}(\.\d*)?$`)

// thousands reports whether the lines look like numbers with a comma between
// the thousands: "1,234.50" is not two columns.
func thousands(lines [][]byte) bool {
	return !slices.ContainsFunc(lines, func(l []byte) bool { return !thousandsNumber.Match(l) })
}

// columnScore says how much a column looks like a measured value: 1 for a
// number in nearly every line, 4 more for a decimal mark, 2 more if it changes.
// A number that only ever rises is a counter or a clock, and worth less than
// one that stands still.
func columnScore(lines [][]byte, sep string, column int) float64 {
	var numbers, marked, rising int
	values, previous := map[float64]bool{}, math.Inf(-1)
	read, err := (&frame.Text{Separator: sep, Column: column}).Reader()
	if err != nil {
		return 0
	}
	for _, l := range lines {
		f := read(l)
		if f.Bad != "" {
			continue
		}
		numbers++
		if f.Decimals > 0 {
			marked++
		}
		if f.Value > previous {
			rising++
		}
		previous = f.Value
		values[f.Value] = true
	}
	if !nearlyAll(numbers, lines) {
		return 0
	}
	score := 1.0
	if marked > numbers/2 {
		score += 4
	}
	if len(values) > 1 {
		score += 2
	}
	if len(values) > 2 && rising == numbers {
		score -= 2.5
	}
	return score
}

// unitColumn returns the column that holds a unit word in every line, 0 for
// none.
func unitColumn(lines [][]byte, sep string, count int) int {
	for column := 1; column <= count; column++ {
		named := func(l []byte) bool {
			parts := bytes.Split(l, []byte(sep))
			if len(parts) < column {
				return false
			}
			_, ok := frame.UnitOf(bytes.Trim(parts[column-1], " \t"))
			return ok
		}
		if mostly(lines, named) {
			return column
		}
	}
	return 0
}
