package frame

import (
	"cmp"
	"fmt"
	"regexp"
	"strings"
	"unicode"
)

// NewDecoder checks the description and returns a decoder for it.
func (t *Text) NewDecoder() (Decoder, error) {
	most := cmp.Or(t.MaxLength, DefaultMaxLength)
	end, named := lineEnds[t.LineEnd]
	if !named {
		end = t.LineEnd
	}
	letter := func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }
	sum, known := ChecksumNamed(t.Checksum)
	if err := cmp.Or(
		Want(t.Checksum == "" || known, "checksum", t.Checksum, ChecksumList),
		Want(t.From >= 0 && (known || t.From == 0), "checksum_from", t.From, "0 or more, with a checksum"),
		Want(most >= 4 && most <= 65536, "max_length", t.MaxLength, "4 to 65536"),
		Want(named || !strings.ContainsFunc(end, letter), "line_end", end, "any, cr, lf, crlf, idle, or bytes that are no letters or digits"),
		WantOneOf("decimals", t.Decimals, "fixed or free"),
		Want(finite(t.Offset), "offset", t.Offset, "a finite number"),
	); err != nil {
		return nil, err
	}
	read, err := t.reader()
	if err != nil {
		return nil, err
	}
	d := newTextDecoder(most, end, read)
	if d.scaling, err = newScaling(0, t.Scale); err != nil {
		return nil, err
	}
	d.offset, d.sum, d.from = t.Offset, sum, t.From
	if t.Ignore != "" {
		if d.ignore, err = regexp.Compile(`^(?:` + t.Ignore + `)$`); err != nil {
			return nil, fmt.Errorf("ignore %q: %w", t.Ignore, err)
		}
	}
	d.habits.free = t.Decimals == "free"
	return d, nil
}

// Reader checks the description and returns what reads one line by itself,
// without its end and without regard to the habits of the gauge. Raw of its
// frames is nil.
func (t *Text) Reader() (func(line []byte) Frame, error) {
	read, err := t.reader()
	if err != nil {
		return nil, err
	}
	return func(line []byte) Frame {
		f, n := read(trim(line))
		f.absent()
		f.Decimals = n.shown()
		return f
	}, nil
}

// reader returns what reads one line.
func (t *Text) reader() (lineReader, error) {
	simple, err := t.simple()
	if err != nil {
		return nil, err
	}
	read, pattern := simple.read, t.Pattern
	if pattern == "" && t.Channel != "" {
		pattern = `(?P<channel>\w+)[:=,;\s]\s*(?P<value>.+)`
	}
	if pattern != "" {
		read, err = newPatternLine(pattern, simple)
	}
	return read, err
}

// simple returns the reader of simple lines, whose number and word rules the
// other line forms share.
func (t *Text) simple() (*simpleLine, error) {
	for w, m := range t.Words {
		_, state := wordFlags[m]
		if w == "" || !state && m != wordIgnore && m != wordPlus && m != wordMinus && Quantity(m) == "" {
			return nil, &KeyError{Key: "words." + w, Err: fmt.Errorf("%q means nothing known, want a unit (%s), hold, low-battery, over or ignore, or of a sign plus or minus", m, UnitList)}
		}
	}
	if err := cmp.Or(
		WantOneOf("decimal", t.Decimal, "any, point or comma"),
		Want(t.Thousands == "" || grouped[t.Thousands[0]] != nil && len(t.Thousands) == 1, "thousands", t.Thousands, "a comma, point or apostrophe"),
		Want(t.Decimal == "" || t.Decimal != map[string]string{",": "comma", ".": "point"}[t.Thousands], "thousands", t.Thousands, "another mark than the decimal one"),
	); err != nil {
		return nil, err
	}
	s := &simpleLine{channel: t.Channel, words: t.Words, point: t.Decimal != "comma", comma: t.Decimal != "point"}
	if t.Thousands != "" {
		s.thousands = t.Thousands[0]
	}
	return s, nil
}
