package frame

import "bytes"

// DefaultMaxLength bounds a text line in bytes where the description does not.
// Gauges send some twenty; a line of several columns and a clock stays below a
// hundred.
const DefaultMaxLength = 256

// A Text describes a gauge that sends lines.
//
// Without Pattern and Column the line is read simply: words, then the one
// decimal number, then its unit and state words. A word before the number must
// be known, be in Words, or be a label with a colon or an equals sign.
//
//	+0.123 mm     - 0,123     D1: 0.0045in     0.123mm,HOLD
//
// With Column the line is cut at each separator, and the value's column alone
// is read so; with Pattern a regular expression of the whole line names what it
// finds:
//
//	column = 3, unit_column = 4, seq_column = 1     17,A,+0.123,mm
//	pattern = '(?P<sign>[+-])(?P<value>[\d.]+)H?'    +000.123H
//
// A line that holds anything else (a second number, two decimal marks, a word
// that is not known, an error code, a control byte) is garbled.
type Text struct {
	LineEnd   string            `toml:"line_end,omitempty"`    // "any" (CR or LF, the default), "cr", "lf" or "crlf"
	MaxLength int               `toml:"max_length,omitempty"`  // bytes in a line; 0: 256
	Decimal   string            `toml:"decimal,omitempty"`     // decimal mark: "any" (the default), "point" or "comma"
	Decimals  string            `toml:"decimals,omitempty"`    // "fixed" (the default): a line with fewer digits than is the habit is cut; "free": a gauge that drops trailing zeros
	Separator string            `toml:"separator,omitempty"`   // between columns; "" with Column: ","
	Column    int               `toml:"column,omitempty"`      // 1-based column of the value; 0: not in columns
	Columns   int               `toml:"columns,omitempty"`     // columns in a sound line; 0: at least Column
	UnitAt    int               `toml:"unit_column,omitempty"` // column that holds the unit word; 0: none
	SeqAt     int               `toml:"seq_column,omitempty"`  // column that numbers or time-stamps the line
	Pattern   string            `toml:"pattern,omitempty"`     // regular expression of the whole line with the groups value, unit, sign, hold, low_battery, over, seq
	Words     map[string]string `toml:"words,omitempty"`       // what a word means: a unit, "hold", "low-battery", "over" or "ignore"
}

// A lineReader reads one line, the blanks around it trimmed.
type lineReader func(line []byte) (Frame, number)

// A textDecoder cuts lines and reads each by one of the line forms.
type textDecoder struct {
	read   lineReader
	plain  bool // the simple form with a decimal point: the usual line may be used
	usual  usualLine
	lines  LineCutter
	habits habits
	emit   func(*Frame) // of the current Feed
	frame  Frame        // the frame emitted last
	kept   []Frame      // lines that broke a habit alike, at most two
}

func newTextDecoder(most int, end lineEnd, read lineReader) *textDecoder {
	d := &textDecoder{read: read}
	d.lines = LineCutter{end: end, most: most, line: d.line, buf: make([]byte, 0, most)}
	return d
}

// Feed implements Decoder.
func (d *textDecoder) Feed(p []byte, emit func(*Frame)) {
	d.emit = emit
	if d.plain {
		p = d.feedUsual(p)
	}
	d.lines.Feed(p)
}

// feedUsual decodes lines of the usual form and returns the bytes from the
// first other line on.
func (d *textDecoder) feedUsual(p []byte) []byte {
	if len(d.lines.buf) > 0 || d.lines.skip {
		return p
	}
	var n number
	f := &d.frame
	for len(p) > 0 {
		if d.lines.end == endAny && (p[0] == '\r' || p[0] == '\n') {
			p = p[1:]
			continue
		}
		size := d.usual.read(p, f, &n)
		if size == 0 || size > d.lines.most {
			break
		}
		f.Raw = p[:size]
		d.decide(f, &n, size, false)
		p = p[size+d.usual.end:]
	}
	return p
}

// line decodes one line; a blank one is nothing.
func (d *textDecoder) line(raw []byte, cut bool) {
	if cut {
		d.settle(false)
		d.emit(&Frame{Raw: raw, Bad: "line too long"})
		return
	}
	line := trim(raw)
	if len(line) == 0 {
		return
	}
	var n number
	f := &d.frame
	*f, n = d.read(line)
	f.Raw = raw
	if f.Bad != "" {
		d.settle(false)
		d.emit(f)
		return
	}
	if d.plain && !n.exponent {
		d.usual.learn(raw, d.lines.ended, f, &n)
	}
	f.Decimals = n.shown()
	d.decide(f, &n, len(raw), raw[0] == ' ')
}

// decide emits a line that is as always. One that breaks a habit is kept back
// until the lines after it show whether the habit changed; believed after all,
// it counts as arrived with the line that confirmed it.
func (d *textDecoder) decide(f *Frame, n *number, length int, indented bool) {
	is, why := d.habits.judge(n, f.Unit, length, indented)
	if is == usual && len(d.kept) == 0 {
		d.emit(f)
		return
	}
	if is == unlike {
		d.settle(false)
	}
	if is == unlike || is == again {
		own := *f
		own.Bad, own.Raw, own.Delayed = why, bytes.Clone(f.Raw), true
		d.kept = append(d.kept, own)
		return
	}
	d.settle(is == anew)
	d.emit(f)
}

// settle emits the lines kept back, sound or not.
func (d *textDecoder) settle(sound bool) {
	for i := range d.kept {
		if sound {
			d.kept[i].Bad = ""
		}
		d.emit(&d.kept[i])
	}
	d.kept = d.kept[:0]
}

// Pending implements Decoder.
func (d *textDecoder) Pending() int { return len(d.kept) }

// Flush implements Decoder.
func (d *textDecoder) Flush() { d.settle(false) }

// Reset implements Decoder.
func (d *textDecoder) Reset() { d.lines.drop() }

// Partial implements Decoder. The rest of a line that is too long, which was
// told, and an odd line end are nothing.
func (d *textDecoder) Partial() int {
	if d.lines.skip || len(bytes.TrimSpace(d.lines.buf)) == 0 {
		return 0
	}
	return len(d.lines.buf)
}

func trim(b []byte) []byte { return bytes.Trim(b, " \t") }
