package frame

import (
	"bytes"
	"regexp"
	"strconv"
	"time"
)

// DefaultMaxLength bounds a text line in bytes where the description does not.
// Gauges send some twenty; a line of several columns and a clock stays below a
// hundred.
const DefaultMaxLength = 256

// A Text describes a gauge that sends lines.
//
// Without Pattern the line is read simply: words, then the one decimal number,
// then its unit and state words. A word before the number must be known, be in
// Words, or be a label with a colon or an equals sign.
//
//	+0.123 mm     - 0,123     0.012 - mm     D1: 0.0045in     0.123mm,HOLD
//
// With Pattern a regular expression of the whole line names what it finds:
//
//	pattern = '(?P<sign>[+-])(?P<value>[\d.]+)H?'             +000.123H
//	pattern = '(?P<seq>\d+),A,(?P<value>[^,]*),(?P<unit>\w+)' 17,A,+0.123,mm
//	pattern = '(?P<value>[^ ]*) (?P<state>.)'                 +0.123 S
//
// Of a stream that several gauges share, such as a multiplexer's, a line counts whose
// group channel is Channel. Without a pattern the channel is the first word:
//
//	channel = "2"                                             2: +0.123 mm
//
// A state is a word of Words; with one that is not among them the line is garbled,
// so that the letter for "beyond the scale" is never passed over.
//
// Lines may begin with STX and end with ETX, which are no part of them.
//
// A line that holds anything else (a second number, two decimal marks, a word
// that is not known, an error code, a control byte) is garbled.
type Text struct {
	LineEnd   string            `toml:"line_end,omitempty"`      // "any" (CR or LF, the default), "cr", "lf", "crlf", "idle" (a pause), or the bytes themselves, none of them a letter or digit
	MaxLength int               `toml:"max_length,omitempty"`    // bytes in a line; 0: 256
	Decimal   string            `toml:"decimal,omitempty"`       // decimal mark: "any" (the default), "point" or "comma"
	Thousands string            `toml:"thousands,omitempty"`     // mark between thousands, "," "." or "'"; "": none, for "1,017.7" may be two numbers
	Scale     float64           `toml:"scale,omitempty"`         // the number is multiplied by this; 0: 1
	Offset    float64           `toml:"offset,omitempty"`        // and this is added, in Unit
	Decimals  string            `toml:"decimals,omitempty"`      // "fixed" (the default): a line with fewer digits than is the habit is cut; "free": a gauge that drops trailing zeros
	Pattern   string            `toml:"pattern,omitempty"`       // regular expression of the whole line with the groups value, unit, sign, state, hold, low_battery, over, seq, channel
	Channel   string            `toml:"channel,omitempty"`       // this gauge's among those of one stream; the lines of the others are nothing
	Checksum  string            `toml:"checksum,omitempty"`      // a name of ChecksumList: the hex digits that end a line, with or without a star before them, are that of the rest
	From      int               `toml:"checksum_from,omitempty"` // first byte under the checksum
	Ignore    string            `toml:"ignore,omitempty"`        // regular expression of a whole line that says nothing
	Words     map[string]string `toml:"words,omitempty"`         // what a word means: a unit, "hold", "low-battery", "over", "ignore"; of a sign "plus" or "minus"
}

// The control characters around a line.
// Source: ISO/IEC 646 (ASCII).
const stx, etx = 2, 3

// A lineReader reads one line, the blanks around it trimmed.
type lineReader func(line []byte) (Frame, number)

// A textDecoder cuts lines and reads each by one of the line forms.
type textDecoder struct {
	read    lineReader
	scaling scaling
	offset  float64
	ignore  *regexp.Regexp // lines that say nothing, may be nil
	sum     Checksum       // of size 0: none
	from    int            // first byte under it
	lines   LineCutter
	habits  habits
	at      time.Time    // of the current Feed
	emit    func(*Frame) // of it
	held    bool         // it completed a line that is kept back
	frame   Frame        // the frame emitted last
	kept    []Frame      // lines that broke a habit alike, at most two
}

func newTextDecoder(most int, end string, read lineReader) *textDecoder {
	d := &textDecoder{read: read, scaling: scaling{factor: 1}}
	d.lines = LineCutter{end: end, most: most, line: d.line, buf: make([]byte, 0, most)}
	return d
}

// Feed implements Decoder.
func (d *textDecoder) Feed(at time.Time, p []byte, emit func(*Frame)) bool {
	d.at, d.emit, d.held = at, emit, false
	d.lines.Feed(p)
	return d.held
}

// line decodes one line; a blank one is nothing.
func (d *textDecoder) line(raw []byte, cut bool) {
	if cut {
		d.settle(false)
		d.emit(&Frame{Raw: raw, At: d.at, Bad: "line too long"})
		return
	}
	line := trim(raw)
	if len(line) > 0 && line[0] == stx {
		line = trim(line[1:])
	}
	if last := len(line) - 1; last >= 0 && line[last] == etx {
		line = trim(line[:last])
	}
	if len(line) == 0 || d.ignore != nil && d.ignore.Match(line) {
		return
	}
	var n number
	f := &d.frame
	if body, right := d.checked(line); right {
		*f, n = d.read(body)
	} else {
		*f = Frame{Bad: "checksum is wrong"}
	}
	if f.Bad == otherChannel {
		return
	}
	f.absent()
	f.Raw, f.At = raw, d.at
	if f.Bad != "" {
		d.settle(false)
		d.emit(f)
		return
	}
	f.Decimals = d.scaling.shown(n.shown())
	if d.scaling.factor != 1 || d.offset != 0 {
		f.Value = d.scaling.value(f.Value) + d.offset
	}
	d.decide(f, &n, len(raw), raw[0] == ' ')
}

// checked returns the line without its checksum, and whether that is right.
func (d *textDecoder) checked(line []byte) ([]byte, bool) {
	at := len(line) - 2*d.sum.Size
	if d.sum.Size == 0 || at <= d.from {
		return line, d.sum.Size == 0
	}
	sent, err := strconv.ParseUint(string(line[at:]), 16, 16)
	body := bytes.TrimSuffix(line[:at], []byte("*"))
	return trim(body), err == nil && d.sum.Of(body[d.from:]) == uint16(sent)
}

// decide emits a line that is as always. One that breaks a habit is kept back
// until the lines after it show whether the habit changed.
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
		own.Bad, own.Raw, d.held = why, bytes.Clone(f.Raw), true
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

// Flush implements Decoder. A pause ends a line that nothing else does.
func (d *textDecoder) Flush() {
	if d.lines.end == endIdle && d.emit != nil {
		d.lines.Flush()
	}
	d.settle(false)
}

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
