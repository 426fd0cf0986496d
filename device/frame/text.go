package frame

import (
	"bytes"
	"cmp"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
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
	Decimal   string            `toml:"decimal,omitempty"`       // decimal mark: "any" (the default), "point" or "comma"
	Thousands string            `toml:"thousands,omitempty"`     // mark between thousands, "," "." or "'"; "": none, for "1,017.7" may be two numbers
	Scale     float64           `toml:"scale,omitempty"`         // the number is multiplied by this; 0: 1
	Offset    float64           `toml:"offset,omitempty"`        // and this is added, in Unit
	Decimals  string            `toml:"decimals,omitempty"`      // "fixed" (the default): a line with fewer digits than is the habit is cut; "free": a gauge that drops trailing zeros
	Hex       string            `toml:"hex,omitempty"`           // the digits are hexadecimal: "int16", two's complement of 16 bits, or "uint32"; of 8, 16, 24, 32 or 64 bits, with or without 0x before them
	Pattern   string            `toml:"pattern,omitempty"`       // regular expression of the whole line with the groups value, unit, sign, state, hold, low_battery, over, seq, channel
	Channel   string            `toml:"channel,omitempty"`       // this gauge's among those of one stream; the lines of the others are nothing
	Checksum  string            `toml:"checksum,omitempty"`      // one of ChecksumList: the hex digits that end a line, with or without a star before them, are that of the rest
	From      int               `toml:"checksum_from,omitempty"` // first byte under the checksum
	Ignore    string            `toml:"ignore,omitempty"`        // regular expression of a whole line that says nothing
	Words     map[string]string `toml:"words,omitempty"`         // what a word means: a unit, "hold", "low-battery", "over", "ignore"; of a sign "plus" or "minus"
}

// The control characters around a line.
// Source: ISO/IEC 646 (ASCII).
var stx, etx = []byte{2}, []byte{3}

// A textDecoder cuts lines and reads each by one of the line forms.
type textDecoder struct {
	textLine
	scaling scaling
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
	broken  form         // of the last that did
}

// NewDecoder checks the description and returns a decoder for it.
func (t *Text) NewDecoder() (Decoder, error) { return t.compile() }

// Reader checks the description and returns what reads one line by itself,
// without its end and without regard to the habits of the gauge. Raw of its
// frames is nil.
func (t *Text) Reader() (func(line []byte) Frame, error) {
	d, err := t.compile()
	return func(line []byte) Frame {
		f, _ := d.read(trim(line))
		f.absent()
		return f
	}, err
}

// behindThousands is the decimal mark that may follow a mark between thousands.
var behindThousands = map[string]string{",": `\.`, ".": ",", "'": "[.,]"}

// compile checks the description.
func (t *Text) compile() (*textDecoder, error) {
	letter := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
	end := lineEnds[t.LineEnd]
	behind, grouped := behindThousands[t.Thousands]
	sum, known := ChecksumNamed(t.Checksum)
	scaling, scaleErr := newScaling(0, t.Scale, t.Offset)
	expression := t.Pattern
	if expression == "" && t.Channel != "" {
		expression = `(?P<channel>\w+)[:=,;\s]\s*(?P<value>.+)`
	}
	pattern, patternErr := wholeLine("pattern", expression)
	ignore, ignoreErr := wholeLine("ignore", t.Ignore)
	d := &textDecoder{scaling: scaling, ignore: ignore, sum: sum, from: t.From, habits: habits{free: t.Decimals == "free"}}
	d.textLine = textLine{words: t.Words, pattern: pattern, channel: t.Channel, mark: []byte(t.Thousands), signed: strings.HasPrefix(t.Hex, "int"),
		point: t.Decimal != "comma" && t.Thousands != ".", comma: t.Decimal != "point" && t.Thousands != ","}
	d.hex, _ = strconv.Atoi(strings.TrimLeft(t.Hex, "uint")) // 0 for none
	if err := cmp.Or(
		Want(known, "checksum", t.Checksum, ChecksumList),
		Want(t.From >= 0 && (sum.Size > 0 || t.From == 0), "checksum_from", t.From, "0 or more, with a checksum"),
		Want(end != "" || !strings.ContainsFunc(t.LineEnd, letter), "line_end", t.LineEnd, "any, cr, lf, crlf, idle, or bytes that are no letters or digits"),
		WantOneOf("decimals", t.Decimals, "fixed or free"),
		WantOneOf("decimal", t.Decimal, "any, point or comma"),
		WantOneOf("hex", t.Hex, "int8, int16, int24, int32, int64, uint8, uint16, uint24, uint32 or uint64"),
		Want(t.Thousands == "" || grouped, "thousands", t.Thousands, "a comma, point or apostrophe"),
		Want(d.point || d.comma, "thousands", t.Thousands, "another mark than the decimal one"),
		patternErr, t.groupsErr(pattern), scaleErr, ignoreErr, t.wordsErr(),
	); err != nil {
		return nil, err
	}
	if grouped {
		d.grouped = regexp.MustCompile(fmt.Sprintf(`^[-+]? *[1-9]\d{0,2}(%s\d{3})+\b(%s\d+)?`, regexp.QuoteMeta(t.Thousands), behind))
	}
	d.lines = LineCutter{end: cmp.Or(end, t.LineEnd), most: DefaultMaxLength, line: d.line, buf: make([]byte, 0, DefaultMaxLength)}
	return d, nil
}

// wholeLine compiles the regular expression of a key; nil for none.
func wholeLine(key, expression string) (*regexp.Regexp, error) {
	if expression == "" {
		return nil, nil
	}
	re, err := regexp.Compile(`^(?:` + expression + `)$`)
	if err != nil {
		return nil, fmt.Errorf("%s %q: %w", key, expression, err)
	}
	return re, nil
}

// groupsErr is the error of the groups of the pattern, which may be nil.
func (t *Text) groupsErr(re *regexp.Regexp) error {
	if re == nil {
		return nil
	}
	for _, name := range re.SubexpNames() {
		if !slices.Contains([]string{"", "value", "seq", "channel"}, name) && patternFlags[name] == 0 && patternWords[name] == "" {
			return fmt.Errorf("pattern %q: group %q, want value, unit, sign, state, hold, low_battery, over, seq or channel", t.Pattern, name)
		}
	}
	if re.SubexpIndex("value") < 0 {
		return fmt.Errorf("pattern %q: no group (?P<value>...)", t.Pattern)
	}
	if given := re.SubexpIndex("channel") >= 0; given != (t.Channel != "") {
		return fmt.Errorf("channel %q: want one, and a group (?P<channel>...) in the pattern", t.Channel)
	}
	return nil
}

// wordsErr is the error of a word with no meaning.
func (t *Text) wordsErr() error {
	for w, m := range t.Words {
		if _, state := wordFlags[m]; w == "" || !state && Quantity(m) == "" {
			return &KeyError{Key: "words." + w, Err: fmt.Errorf("%q means nothing known, want a unit (%s), hold, low-battery, over or ignore, or of a sign plus or minus", m, UnitList)}
		}
	}
	return nil
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
	line := trim(bytes.TrimSuffix(bytes.TrimPrefix(trim(raw), stx), etx))
	if len(line) == 0 || d.ignore != nil && d.ignore.Match(line) {
		return
	}
	var n number
	f := &d.frame
	if body, right := d.sum.Body(line, d.from); right {
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
	if d.scaling.shown < 0 {
		f.Decimals = -1
	}
	f.Value = d.scaling.value(f.Value)
	d.decide(f, &n, len(raw), raw[0] == ' ')
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
