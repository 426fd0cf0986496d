package identify

import (
	"bytes"
	"fmt"
	"maps"
	"math"
	"math/bits"
	"regexp"
	"slices"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// Words before and behind numbers.
var (
	wantedNames = strings.Fields("x y z d p m pos position val value reading read is dial disp displacement length dist distance depth height torque force pressure press")
	otherNames  = strings.Fields("t time ts ms sec temp temperature bat batt battery vbat volt v min max avg mean sd n no nr num count cnt seq id ch channel sn fw ver version rssi hum humidity tare set limit tol nom ref cal date rate e er err error fail failed fault alarm")
	otherUnits  = strings.Fields("c °c degc f °f k v mv a ma mah % hz khz s sec ms min h g kg db rpm dbm")
)

// A dialect is a way to write numbers.
type dialect struct {
	text   frame.Text     // reads a line that has one
	number *regexp.Regexp // finds those of a line with several; nil: not tried
	prior  float64        // bits for it before anything was heard
}

// dialects are those that are tried. A point seldom parts thousands on a wire, a
// comma as often as decimals; hex digits are seldom sent, and of lines of nothing
// else.
var dialects = []dialect{
	{frame.Text{Decimal: "point"}, regexp.MustCompile(`[-+]?[ \t]*(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][-+]?\d+)?`), 0},
	{frame.Text{Decimal: "comma"}, regexp.MustCompile(`[-+]?[ \t]*(?:\d+(?:,\d+)?|,\d+)(?:[eE][-+]?\d+)?`), 0},
	{frame.Text{Thousands: ","}, nil, 0},
	{frame.Text{Thousands: "'"}, nil, 0},
	{frame.Text{Thousands: "."}, nil, -10},
	{frame.Text{Hex: "int8"}, nil, -6}, {frame.Text{Hex: "int16"}, nil, -6}, {frame.Text{Hex: "int24"}, nil, -6},
	{frame.Text{Hex: "int32"}, nil, -6}, {frame.Text{Hex: "int64"}, nil, -6}, {frame.Text{Hex: "uint64"}, nil, -6},
}

var (
	hexLine  = regexp.MustCompile(`^(?:0[xX])?([0-9a-fA-F]{1,16})$`)
	pointed  = regexp.MustCompile(`(?m)(?:^|[^\pL])\.\d`)          // it is the decimal mark
	digitRun = regexp.MustCompile(`(?:^|[^\pL\d.,'])([\d.,']*\d)`) // of a number, not of a word like "CH1"
)

// textCandidates proposes line forms for printable text: in each dialect the line
// read simply, the numbers of lines that hold several, or lines in which words come
// and go.
func textCandidates(b []byte) []candidate {
	lines, end := splitLines(b)
	if len(lines) < leastFrames || !mostly(lines, printable) {
		return nil
	}
	heard := frame.Text{LineEnd: end}
	lines = checked(lines, &heard)
	hex, point := mostly(lines, hexLine.MatchString), pointed.MatchString(strings.Join(lines, "\n"))
	var list []candidate
	for _, d := range dialects {
		d.text.LineEnd, d.text.Checksum, d.text.From = end, heard.Checksum, heard.From
		c, ok := d.simple(lines)
		switch {
		case d.text.Hex != "" && !hex:
		case ok && c.likely(true):
			list = append(list, c.candidate(d.text, d.prior-seriesBits(c.counts())))
		case !ok && d.number != nil && !hex && (d.text.Decimal == "point" || !point):
			if found := d.parted(lines); len(found) > 0 {
				list = append(list, found...)
			} else if c, ok := d.stated(lines); ok {
				list = append(list, c)
			}
		}
	}
	return list
}

// simple reads lines of one number; false where nearly all cannot be read so.
func (d dialect) simple(lines []string) (c column, ok bool) {
	read, _ := d.text.Reader()
	run := digitRun
	if d.text.Hex != "" {
		run = hexLine
	}
	var units []string
	for _, l := range lines {
		if strings.HasPrefix(d.text.Hex, "int") && len(l) != len(lines[0]) {
			continue // of two's complement only where no line drops a nought
		}
		if f, m := read([]byte(l)), run.FindStringSubmatch(l); f.Bad == "" && m != nil {
			c.add(m[1], f.Value, f.Decimals)
			units = append(units, f.Unit)
		}
	}
	c.name, c.unit = nameBefore(digitRun.Split(lines[0], 2)[0]), mostOf(units)
	return c, nearlyAll(len(c.values), len(lines))
}

// stated proposes lines of one number with words that come and go and have no
// meaning yet: states that are passed over. The number has to move under each, for
// where it stands still that may be what it shows for no value, and go on from one
// to the next, or several gauges take turns. A word where it would have to jump to
// change its sign is no sign.
func (d dialect) stated(lines []string) (candidate, bool) {
	read, _ := d.text.Reader()
	under, words := map[string][]float64{}, map[string]string{}
	for _, l := range lines {
		texts, _ := d.part(l)
		for _, w := range stateForm.FindAllString(l, -1) {
			under[w] = append(under[w], read([]byte(strings.Join(texts, " "))).Value)
		}
	}
	for w, v := range under {
		low := strings.ToLower(w)
		other := slices.Contains(otherNames, low) || len(v) == len(lines) && slices.Contains(otherUnits, low)
		unknown := read([]byte("1 "+w)).Bad != "" && read([]byte(w+": 1")).Bad == ""
		if unknown && !other && len(v) >= leastFrames && slices.Max(v) != slices.Min(v) {
			words[w] = "ignore"
		}
	}
	d.text.Words = words
	read, _ = d.text.Reader()
	step, jump, flip := 0.0, 0.0, 0.0
	last, lastState := 0.0, ""
	for _, l := range lines {
		f, state := read([]byte(l)), strings.Join(stateForm.FindAllString(l, -1), " ")
		switch change := math.Abs(f.Value - last); {
		case f.Bad != "":
			continue
		case state == lastState:
			step = max(step, change)
		case lastState != "":
			jump, flip = max(jump, change), max(flip, math.Abs(f.Value)+math.Abs(last))
		}
		last, lastState = f.Value, state
	}
	const steps = 3 // no movement is so uneven
	c, ok := d.simple(lines)
	if !ok || jump > steps*step || flip <= steps*step || !c.likely(true) {
		return candidate{}, false
	}
	out := c.candidate(d.text, d.prior-seriesBits(c.counts()))
	out.most = 1 + movedBits(c.counts())
	out.notes = append(out.notes, fmt.Sprintf("what the words %q mean was not heard: set them by the manual", slices.Sorted(maps.Keys(words))))
	return out, true
}

// stateForm is a word of letters.
var stateForm = regexp.MustCompile(`\pL+`)

// checked returns the lines without the checksum that nearly all of them end with,
// and notes it. Lines that are the same all the while prove none.
func checked(lines []string, t *frame.Text) []string {
	for _, c := range checks() {
		for from := range 2 { // a mark at the head is often left out
			var bodies []string
			for _, l := range lines {
				if body, right := c.Body([]byte(l), from); right {
					bodies = append(bodies, string(body))
				}
			}
			different := slices.Compact(slices.Sorted(slices.Values(bodies)))
			if nearlyAll(len(bodies), len(lines)) && len(different) >= leastDifferent {
				t.Checksum, t.From = c.name, from
				return bodies
			}
		}
	}
	return lines
}

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
	values     []float64
	decimals   []int
	digits     int  // of all numbers
	padded     bool // with leading noughts
}

func (c *column) add(text string, v float64, decimals int) {
	text = strings.Trim(text, "+- ")
	c.padded = c.padded || len(text) > 1 && text[0] == '0' && text[1] >= '0' && text[1] <= '9'
	c.digits += len(text)
	c.values, c.decimals = append(c.values, v), append(c.decimals, decimals)
}

// counts returns the values in steps of the last decimal.
func (c *column) counts() []float64 {
	if slices.Min(c.decimals) < 0 {
		return inSteps(c.values, 8)
	}
	list := make([]float64, len(c.values))
	for i, v := range c.values {
		list[i] = math.Round(v * math.Pow10(slices.Max(c.decimals)))
	}
	return list
}

// likely reports whether the number may be the measured one at all. Numbers that
// jump so far that they could as well be written digit by digit are noise, and a share
// has no unit.
func (c *column) likely(alone bool) bool {
	counts := c.counts()
	if c.unit == "%" || slices.Min(c.decimals) >= 0 && seriesBits(counts) > math.Log2(10)*float64(c.digits) {
		return false
	}
	other := slices.Contains(otherNames, c.name) || frame.Quantity(c.unit) == "" && slices.Contains(otherUnits, strings.ToLower(c.unit))
	rescued := alone && !other && (slices.Max(c.decimals) > 0 || !clockwork(counts))
	return rescued || c.score() >= leastEvidence
}

// leastEvidence is for one of several numbers to be proposed at all.
const leastEvidence = 4

// score says in bits what speaks for the number being the measured one. The weights
// are judgement (no source); the streams of the tests hold them to account.
func (c *column) score() float64 {
	const most = 26 // more than any wandering
	counts, quantity := c.counts(), frame.Quantity(c.unit)
	sum := min(movedBits(counts), most)
	for _, says := range []struct {
		so   bool
		bits float64
	}{
		{quantity != "" && quantity != "temperature", 12},
		{slices.Contains(otherUnits, strings.ToLower(c.unit)), -16},
		{slices.Contains(wantedNames, strings.TrimRight(c.name, "0123456789")), 6},
		{slices.Contains(otherNames, c.name), -16},
		{slices.Max(c.decimals) > 0, 4}, // few counters and codes have a decimal mark
		{clockwork(counts), -24},
		{sum == 0, -10},
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
	out := candidate{profile: p, evidence: evidence + c.score(), values: c.values, most: math.Inf(1)}
	if p.Unit == "" {
		out.notes = []string{"no unit was sent: set unit by the display, or nothing can be measured with this profile"}
	}
	return out
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
	wordEnd   = regexp.MustCompile(`[\pL\x80-\xff]$`)
	nameForm  = regexp.MustCompile(`(\pL+\d*)[\s:="'\[(]*$`)
	labelForm = regexp.MustCompile(`\pL+\d*["']?\s*[:=][\s"'\[(]*$`) // of the number behind it
	wordForm  = regexp.MustCompile(`[^\s"',;:(){}\[\]=|<>#$]+|"`)
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
func (d dialect) parted(lines []string) (list []candidate) {
	var builds []string
	for _, l := range lines {
		_, between := d.part(l)
		builds = append(builds, strings.Join(between, "\x00"))
	}
	common := mostOf(builds)
	between := strings.Split(common, "\x00")
	columns := make([]column, len(between)-1)
	read, _ := d.text.Reader()
	for i, l := range lines {
		texts, _ := d.part(l)
		for k := 0; k < len(columns) && builds[i] == common; k++ {
			f := read([]byte(texts[k]))
			columns[k].add(texts[k], f.Value, f.Decimals)
		}
	}
	if len(columns) == 0 || slices.Contains(between[1:], ".") || len(columns[0].values)*20 < len(lines)*19 { // rather a state that changes, or two kinds of line
		return nil
	}
	evidence := d.prior
	for k := range columns {
		c := &columns[k]
		c.name, c.unit = nameBefore(between[k]), unitBehind(labelForm.ReplaceAllString(between[k+1], ""))
		if evidence -= seriesBits(c.counts()); k > 0 && c.padded && (between[k] == "," || between[k] == "'") {
			evidence -= 20 // a number of its own seldom begins with a nought: "0,006"
		}
	}
	for k := range columns {
		if !columns[k].likely(len(columns) == 1) {
			continue
		}
		t := d.text
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
		c := columns[k].candidate(t, evidence)
		if why := columns[k].shared(columns); why != "" {
			c.most, c.notes = 1, []string{why}
		}
		list = append(list, c)
	}
	return list
}

// shared says what of the number may stand elsewhere in the line, which makes it no
// answer; "" for nothing.
func (c *column) shared(columns []column) string {
	for _, o := range columns {
		quantity := frame.Quantity(o.unit)
		if frame.Quantity(c.unit) == "" && quantity != "" && quantity != "temperature" && quantity != "angle" {
			return fmt.Sprintf("the unit %s stands behind another number of the line: see whether it is this one's too", o.unit)
		}
		low, high := slices.Min(o.values), slices.Max(o.values)
		other := func(v float64) bool { return v != low && v != high }
		if slices.Min(c.values) < 0 || low == high || o.digits > len(o.values) || slices.ContainsFunc(o.values, other) {
			continue // a sign is one digit
		}
		signed := c.counts()
		for i, v := range o.values {
			if v == high {
				signed[i] = -signed[i]
			}
		}
		if seriesBits(signed) < seriesBits(c.counts()) {
			return fmt.Sprintf("another number of the line is %v or %v, and may be the sign of this one", low, high)
		}
	}
	return ""
}

// Heard returns up to three of the lines that were received, or of bytes that are
// no text the beginning in hex, to show where nothing can be told.
func Heard(b []byte) []string {
	const most, widest = 3, 16
	lines, _ := splitLines(b)
	if !mostly(lines, printable) || len(lines) == 0 {
		return []string{fmt.Sprintf("% X", b[:min(len(b), most*widest)])}
	}
	return lines[:min(most, len(lines))]
}

// sevenBitCandidates proposes line forms for text of seven bits with parity.
func sevenBitCandidates(b []byte) (list []candidate) {
	if text, parity := sevenBits(b); parity != "" {
		list = textCandidates(text)
		for i := range list {
			list[i].profile.Serial, list[i].stream = device.Serial{DataBits: 7, Parity: parity}, text
		}
	}
	return list
}

// sevenBits tells seven-bit text with parity from eight-bit noise: all bytes
// then have the same parity, or the top bit always set. It returns the bytes
// without their top bit, and "" where they have no parity.
func sevenBits(b []byte) (text []byte, parity string) {
	tops, odd := 0, 0
	for _, c := range b {
		text = append(text, c&0x7F)
		tops += int(c >> 7)
		odd += bits.OnesCount8(c) % 2
	}
	// A wrong bit or two do no harm; of text without parity about half of the
	// bytes have an even count of ones.
	few := len(b) / 50
	switch {
	case tops == 0:
	case len(b)-tops <= few:
		return text, "mark"
	case odd <= few:
		return text, "even"
	case len(b)-odd <= few:
		return text, "odd"
	}
	return text, ""
}
