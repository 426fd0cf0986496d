package device

import "bytes"

// defaultLineLength bounds a text line where the profile does not.
const defaultLineLength = 256

// A Text describes a gauge that sends lines.
//
// Without Pattern and Column the line is read simply: words, then the one
// decimal number, then its unit and state words.
//
//	+0.123 mm     - 0,123     D1: 0.0045in     0.123mm,HOLD
//
// A line that holds anything else (a second number, two decimal marks, a word
// that is not known, a control byte) is garbled.
type Text struct {
	LineEnd   string            `toml:"line_end,omitempty"`   // "any" (CR or LF, the default), "cr", "lf" or "crlf"
	MaxLength int               `toml:"max_length,omitempty"` // bytes in a line; 0: 256
	Decimal   string            `toml:"decimal,omitempty"`    // decimal mark: "any" (the default), "point" or "comma"
	Decimals  string            `toml:"decimals,omitempty"`   // "fixed" (the default): a line with fewer digits than is the habit is cut; "free": a gauge that drops trailing zeros
	Separator string            `toml:"separator,omitempty"`  // between columns; "" with Column: ","
	Column    int               `toml:"column,omitempty"`     // 1-based column of the value; 0: not in columns
	Columns   int               `toml:"columns,omitempty"`    // columns in a sound line; 0: at least Column
	UnitAt    int               `toml:"unit_column,omitempty"`
	SeqAt     int               `toml:"seq_column,omitempty"` // column that numbers or time-stamps the line
	Pattern   string            `toml:"pattern,omitempty"`    // regular expression of the whole line with the groups value, unit, sign, hold, low_battery, over, seq
	Words     map[string]string `toml:"words,omitempty"`      // what a word means: a unit, "hold", "low-battery", "over" or "ignore"
}

// textDecoder cuts lines and hands them to a lineReader.
type textDecoder struct {
	text   Text
	read   func(line []byte) (Frame, number)
	max    int
	end    lineEnd
	buf    []byte
	skip   bool // the line is over the limit; drop the rest of it
	habits habits
}

type lineEnd uint8

const (
	endAny lineEnd = iota
	endCR
	endLF
	endCRLF
)

// Feed implements Decoder.
func (d *textDecoder) Feed(p []byte, emit func(Frame)) {
	for len(p) > 0 {
		i := d.indexEnd(p)
		if i < 0 {
			d.hold(p, emit)
			return
		}
		switch {
		case d.skip:
			d.skip = false
			d.buf = d.buf[:0]
		case len(d.buf) == 0:
			d.line(p[:i], emit)
		default:
			d.hold(p[:i], emit)
			if !d.skip {
				d.line(d.buf, emit)
			}
			d.skip = false
			d.buf = d.buf[:0]
		}
		p = p[i+1:]
	}
}

// indexEnd returns the index of the byte that ends the line, or -1.
func (d *textDecoder) indexEnd(p []byte) int {
	switch d.end {
	case endCR:
		return bytes.IndexByte(p, '\r')
	case endLF:
		return bytes.IndexByte(p, '\n')
	case endCRLF:
		return d.indexCRLF(p)
	}
	for i, c := range p {
		if c == '\n' || c == '\r' {
			return i
		}
	}
	return -1
}

// indexCRLF finds an LF that follows a CR, which may be in the held part.
func (d *textDecoder) indexCRLF(p []byte) int {
	from := 0
	for {
		i := bytes.IndexByte(p[from:], '\n')
		if i < 0 {
			return -1
		}
		i += from
		if i > 0 && p[i-1] == '\r' || i == 0 && len(d.buf) > 0 && d.buf[len(d.buf)-1] == '\r' {
			return i
		}
		from = i + 1
	}
}

// hold keeps the beginning of a line, up to the limit.
func (d *textDecoder) hold(p []byte, emit func(Frame)) {
	if d.skip {
		if d.end == endCRLF {
			d.buf = append(d.buf[:0], p[len(p)-1])
		}
		return
	}
	if len(d.buf)+len(p) <= d.max {
		d.buf = append(d.buf, p...)
		return
	}
	d.buf = append(d.buf, p[:d.max-len(d.buf)]...)
	d.skip = true
	emit(Frame{Raw: d.buf, Bad: "line too long"})
	d.buf = d.buf[:0]
}

// line decodes one whole line; an empty one is nothing.
func (d *textDecoder) line(raw []byte, emit func(Frame)) {
	if d.end != endAny && len(raw) > 0 && raw[len(raw)-1] == '\r' {
		raw = raw[:len(raw)-1]
	}
	if len(raw) > d.max {
		emit(Frame{Raw: raw[:d.max], Bad: "line too long"})
		return
	}
	line := trim(raw)
	if len(line) == 0 {
		return
	}
	f, n := d.read(line)
	f.Raw = raw
	if f.Bad == "" {
		f.Decimals = n.decimals
		if n.exponent {
			f.Decimals = -1
		}
		f.Bad = d.habits.judge(n, f.Unit, len(raw), raw[0] == ' ')
	}
	emit(f)
}

// Reset implements Decoder.
func (d *textDecoder) Reset() {
	d.buf, d.skip = d.buf[:0], false
	d.habits.forget()
}

// Partial implements Decoder.
func (d *textDecoder) Partial() int { return len(d.buf) }

func trim(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	return b
}
