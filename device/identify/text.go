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

// What speaks for a number in a line being the measured one, in bits. The
// weights are judgement (no source); the streams of the tests hold them to
// account.
const (
	unitBits   = 12  // a unit of what is measured stands behind it
	nameBits   = 6   // a name like "x" or "value" stands before it
	otherBits  = -16 // a name like "temp" or "min" does, or a unit of something else
	pointBits  = 4   // it has a decimal point: few counters and codes do
	clockBits  = -24 // it counts, or rises all the while
	stillBits  = -10 // it does not move
	noughtBits = 20  // a nought stands behind the comma in it, as in "0,006" and "1,024.0": a number of its own seldom begins so

	leastEvidence = 4 // for one of several numbers to be proposed at all
)

// Words before and behind numbers.
var (
	wantedNames = strings.Fields("x y z d p m pos position val value reading read is dial disp displacement length dist distance depth height torque force pressure press")
	otherNames  = strings.Fields("t time ts ms sec temp temperature bat batt battery vbat volt v min max avg mean sd n no nr num count cnt seq id ch channel sn fw ver version rssi hum humidity tare set limit tol nom ref cal date rate e er err error fail failed fault alarm")
	otherUnits  = strings.Fields("c °c degc f °f k v mv a ma mah % hz khz s sec ms min h g kg db rpm dbm")
)

// textCandidates proposes line forms for printable text: the line read simply,
// with each mark between thousands, and the numbers of lines that hold several.
func textCandidates(b []byte) []candidate {
	lines, end := splitLines(b)
	all := strings.Join(lines, "\n")
	if len(lines) < leastFrames || !mostly(lines, printable) || mostly(lines, hexLine.MatchString) && strings.ContainsAny(all, "abcdefxABCDEFX") {
		return nil
	}
	prior := 0.0
	if noughtInside.MatchString(all) {
		prior = noughtBits
	}
	var list []candidate
	for _, mark := range []string{"", ",", ".", "'"} {
		t := frame.Text{LineEnd: end, Thousands: mark}
		read, _ := t.Reader()
		var c column
		for _, l := range lines {
			if f, m := read([]byte(l)), digitRun.FindStringSubmatch(l); f.Bad == "" && m != nil {
				c.add(m[1], f.Value, f.Decimals)
				c.units = append(c.units, f.Unit)
			}
		}
		c.name, c.unit = nameBefore(digitRun.Split(all, 2)[0]), mostOf(c.units)
		if strings.Contains(all, mark) && nearlyAll(len(c.values), len(lines)) && c.likely(true) {
			list = append(list, c.candidate(t, prior-seriesBits(c.counts())))
		}
	}
	for _, d := range dialects {
		if d.decimal == "." || !pointInside.MatchString(all) {
			list = append(list, d.parted(lines, end, map[string]float64{",": prior}[d.decimal])...)
		}
	}
	return list
}

// Lines of hex digits look like numbers that jump, and digits before a comma and a
// nought like one number.
var (
	hexLine      = regexp.MustCompile(`^(?:0[xX])?[0-9a-fA-F]{3,12}$`)
	noughtInside = regexp.MustCompile(`\d[,']0\d`)
	pointInside  = regexp.MustCompile(`\d\.\d`)
	digitRun     = regexp.MustCompile(`(?:^|[^\pL\d.,'])([\d.,']*\d)`) // of a number, not of a word like "CH1"
)

// splitLines cuts at the line end in use, which it names: CR and LF together
// where both come so, CR where no LF comes at all, ETX where neither does, or
// another mark. The first line is left out, for it may be cut, and what follows
// the last line end too; of few lines the first is kept. STX and ETX around a line
// are no part of it.
func splitLines(b []byte) (lines []string, end string) {
	for _, e := range []struct{ name, sep string }{{"crlf", "\r\n"}, {"cr", "\r"}, {"lf", "\n"}, {"\x03", "\x03"}, {"|", "|"}, {";", ";"}, {"#", "#"}, {"$", "$"}} {
		parts := strings.Split(string(b), e.sep)
		if len(parts) > leastFrames && (e.name != "cr" || !bytes.Contains(b, []byte("\n"))) {
			for _, p := range parts[1 : len(parts)-1] {
				if p = strings.Trim(p, " \t\x02\x03"); p != "" {
					lines = append(lines, p)
				}
			}
			return lines, e.name
		}
	}
	return strings.FieldsFunc(string(b), func(r rune) bool { return r == '\r' || r == '\n' }), "any"
}

// mostly reports whether nearly all lines are as ok says.
func mostly(lines []string, ok func(line string) bool) bool {
	return nearlyAll(len(lines)-len(slices.DeleteFunc(slices.Clone(lines), ok)), len(lines))
}

// nearlyAll reports whether so many are enough: as many as have to be sound in
// the end.
func nearlyAll(good, of int) bool { return float64(good) >= leastClean*float64(of) }

// mostOf returns what comes the most often, the first so often of several.
func mostOf(list []string) string {
	counts, best := map[string]int{}, ""
	for _, s := range list {
		if counts[s]++; counts[s] > counts[best] {
			best = s
		}
	}
	return best
}

// printable reports whether a line is text of a sensible length.
func printable(l string) bool {
	control := func(r rune) bool { return r < ' ' && r != '\t' || r == 0x7f }
	return l != "" && len(l) <= frame.DefaultMaxLength && !strings.ContainsFunc(l, control)
}

// A column is one of the numbers of all lines.
type column struct {
	name, unit string
	units      []string // of simple lines, each
	values     []float64
	decimals   []int
	digits     int   // of all numbers
	widths     []int // before the decimal mark
	padded     bool
}

func (c *column) add(text string, v float64, decimals int) {
	text = strings.Trim(text, "+- ")
	c.padded = c.padded || len(text) > 1 && text[0] == '0' && text[1] >= '0' && text[1] <= '9'
	c.digits += len(text)
	c.widths, c.values, c.decimals = append(c.widths, len(text)-decimals), append(c.values, v), append(c.decimals, decimals)
}

// counts returns the values in steps of the last decimal. The sign of a nought
// is there to be explained: of "-0,123" it is no part of two numbers.
func (c *column) counts() []float64 {
	if slices.Min(c.decimals) < 0 {
		return inSteps(c.values, 8)
	}
	list := make([]float64, len(c.values))
	for i, v := range c.values {
		if list[i] = math.Round(v * math.Pow10(slices.Max(c.decimals))); v == 0 && math.Signbit(v) {
			list[i] = -1
		}
	}
	return list
}

// likely reports whether the number may be the measured one at all. Numbers with
// leading noughts in different widths, or that jump so far that they could as well
// be written digit by digit, are noise.
func (c *column) likely(alone bool) bool {
	widths, counts := slices.Sorted(slices.Values(c.widths)), c.counts()
	odd := len(widths) / 10 // may be damaged
	switch {
	case c.padded && widths[odd] != widths[len(widths)-1-odd], slices.Min(c.decimals) >= 0 && seriesBits(counts) > math.Log2(10)*float64(c.digits):
		return false
	case !alone:
		return c.score() >= leastEvidence
	}
	return c.score() > 0 || !slices.Contains(otherNames, c.name) && (slices.Max(c.decimals) > 0 || !clockwork(counts))
}

// score says in bits what speaks for the number.
func (c *column) score() float64 {
	const most = 26 // more than any wandering
	counts := c.counts()
	sum := min(movedBits(counts), most)
	for _, says := range []struct {
		so   bool
		bits float64
	}{
		{sum == 0, stillBits}, {frame.Quantity(c.unit) != "" && frame.Quantity(c.unit) != "temperature", unitBits},
		{slices.Contains(otherUnits, strings.ToLower(c.unit)), otherBits}, {slices.Contains(wantedNames, strings.TrimRight(c.name, "0123456789")), nameBits}, {slices.Contains(otherNames, c.name), otherBits},
		{slices.Max(c.decimals) > 0, pointBits}, {clockwork(counts), clockBits},
	} {
		if says.so {
			sum += says.bits
		}
	}
	return sum
}

// candidate makes a candidate of the number, read by a text form.
func (c *column) candidate(t frame.Text, evidence float64) candidate {
	p := device.Profile{Name: "heard-text", Title: "text lines, found by listening", Frame: device.FrameText, Text: &t}
	if p.Quantity = frame.Quantity(c.unit); p.Quantity != "" {
		p.Unit = c.unit
	}
	most, least := slices.Max(c.decimals), slices.Min(c.decimals)
	if p.Resolution = resolutionOf(most); most != least {
		t.Decimals = "free"
	}
	if least < 0 && p.Unit == "" && t.Pattern == "" {
		p.Name, p.Title, p.Frame, p.Mode = "heard-scpi", "number answers, found by listening", device.FrameSCPI, device.ModeAsked
		p.SCPI, p.Text = &frame.SCPI{Query: "READ?"}, nil
	}
	own := candidate{profile: p, evidence: evidence + c.score(), values: c.values}
	if most == 0 && p.Unit == "" {
		own.most = 1 + movedBits(c.values) // it may be hex that has shown no letter yet
	}
	return own
}

// A dialect is a decimal mark and the number that has it. Between two numbers a
// comma may stand for either.
type dialect struct {
	decimal string
	number  *regexp.Regexp
}

var dialects = []dialect{
	{".", regexp.MustCompile(`[-+]?[ \t]*(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?`)},
	{",", regexp.MustCompile(`[-+]?[ \t]*(?:\d+(?:,\d+)?|,\d+)(?:[eE][-+]?\d+)?`)},
}

// part cuts a line into its numbers and what stands between. One or two digits
// behind a letter are of a word, as in "CH1", and a sign behind a digit is none.
func (d dialect) part(l string) (texts, between []string) {
	from := 0
	for _, m := range d.number.FindAllStringIndex(l, -1) {
		at, before := m[0], l[:m[0]]
		if at > 0 && l[at-1] >= '0' && l[at-1] <= '9' && strings.ContainsAny(l[at:at+1], "+-") {
			at++
		}
		if at > 0 && wordEnd.MatchString(before) && m[1]-at <= 2 {
			continue
		}
		texts, between = append(texts, l[at:m[1]]), append(between, strings.TrimSpace(l[from:at]))
		from = m[1]
	}
	return texts, append(between, strings.TrimSpace(l[from:]))
}

var (
	wordEnd  = regexp.MustCompile(`[\pL\x80-\xff]$`)
	nameForm = regexp.MustCompile(`(\pL+\d*)[\s:="'\[(]*$`)
	wordForm = regexp.MustCompile(`[^\s"',;:(){}\[\]=|<>#$]+|"`)
)

// nameBefore returns the word that a text before a number ends with, in lower case.
func nameBefore(text string) string {
	if m := nameForm.FindStringSubmatch(text); m != nil {
		return strings.ToLower(m[1])
	}
	return ""
}

// unitBehind returns the unit in a text behind a number, or what its first word is
// instead.
func unitBehind(text string) string {
	list := wordForm.FindAllString(text, -1)
	for _, w := range list {
		if u, ok := frame.UnitOf([]byte(w)); ok && (w != `"` || strings.TrimSpace(text) == w) { // of two, quotes
			return u
		}
	}
	if len(list) > 0 {
		return list[0]
	}
	return ""
}

// parted proposes the numbers of lines that all have the same words and marks
// around them, each as a pattern of the whole line. Words stand as they were heard:
// a state that was not, as of a value beyond its range, makes no reading.
func (d dialect) parted(lines []string, end string, prior float64) []candidate {
	var builds []string
	for _, l := range lines {
		_, between := d.part(l)
		builds = append(builds, strings.Join(between, "\x00"))
	}
	common := mostOf(builds)
	between := strings.Split(common, "\x00")
	columns := make([]column, len(between)-1)
	total, fit := 0.0, 0
	t := frame.Text{LineEnd: end}
	if d.decimal == "," {
		t.Decimal = "comma"
	}
	read, _ := t.Reader()
	for i, l := range lines {
		if builds[i] != common {
			continue
		}
		fit++
		texts, _ := d.part(l)
		for k, text := range texts {
			f := read([]byte(text))
			columns[k].add(text, f.Value, f.Decimals)
		}
	}
	if len(columns) == 0 || fit*20 < len(lines)*19 { // rather a state that changes, or two kinds of line
		return nil
	}
	for k := range columns {
		columns[k].name, columns[k].unit = nameBefore(between[k]), unitBehind(between[k+1])
		total += seriesBits(columns[k].counts())
	}
	var list []candidate
	for k := range columns {
		if !columns[k].likely(len(columns) == 1) {
			continue
		}
		t := t
		for j, text := range between {
			if t.Pattern += `[ \t]*` + regexp.QuoteMeta(text) + `[ \t]*`; j > 0 && j < len(columns) && text == "" {
				t.Pattern += `[ \t]` // else a few digits of the one would do for both
			}
			if j == k {
				t.Pattern += `(?P<value>` + d.number.String() + `)`
			} else if j < len(columns) {
				t.Pattern += `(?:` + d.number.String() + `)`
			}
		}
		list = append(list, columns[k].candidate(t, prior-total))
	}
	return list
}

// Heard returns up to three of the lines that were received, or of bytes that are
// no text the beginning in hex, to show where nothing can be told.
func Heard(b []byte) []string {
	const most, widest = 3, 16
	lines, _ := splitLines(b)
	if !mostly(lines, printable) || len(lines) == 0 {
		lines = nil
		for part := range slices.Chunk(b[:min(len(b), most*widest)], widest) {
			lines = append(lines, fmt.Sprintf("% X", part))
		}
	}
	return lines[:min(most, len(lines))]
}
