package frame

import (
	"cmp"
	"fmt"
	"slices"
)

// NewDecoder checks the description and returns a decoder for it.
func (t *Text) NewDecoder() (Decoder, error) {
	most := cmp.Or(t.MaxLength, DefaultMaxLength)
	if most < 4 || most > 65536 {
		return nil, fmt.Errorf("max_length %d: want 4 to 65536", t.MaxLength)
	}
	ends := map[string]lineEnd{"": endAny, "any": endAny, "cr": endCR, "lf": endLF, "crlf": endCRLF}
	end, ok := ends[t.LineEnd]
	if !ok {
		return nil, fmt.Errorf("line_end %q: want any, cr, lf or crlf", t.LineEnd)
	}
	if t.Decimals != "" && t.Decimals != "fixed" && t.Decimals != "free" {
		return nil, fmt.Errorf("decimals %q: want fixed or free", t.Decimals)
	}
	read, err := t.reader()
	if err != nil {
		return nil, err
	}
	d := newTextDecoder(most, end, read)
	d.habits.free = t.Decimals == "free"
	d.plain = t.Pattern == "" && t.Column == 0 && t.Decimal != "comma"
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
	switch {
	case t.Pattern != "" && t.Column != 0:
		return nil, fmt.Errorf("pattern and column together: want one of them")
	case t.Column == 0:
		for _, key := range []struct {
			name string
			set  bool
		}{{"separator", t.Separator != ""}, {"columns", t.Columns != 0}, {"unit_column", t.UnitAt != 0}, {"seq_column", t.SeqAt != 0}} {
			if key.set {
				return nil, fmt.Errorf("%s without column: want the column of the value too", key.name)
			}
		}
	}
	switch {
	case t.Pattern != "":
		return newPatternLine(t.Pattern, simple)
	case t.Column != 0:
		return newColumnLine(*t, simple)
	}
	return simple.read, nil
}

// simple returns the reader of simple lines, whose number and word rules the
// other line forms share.
func (t *Text) simple() (*simpleLine, error) {
	if !slices.Contains([]string{"", "any", "point", "comma"}, t.Decimal) {
		return nil, fmt.Errorf("decimal %q: want any, point or comma", t.Decimal)
	}
	for w, m := range t.Words {
		_, state := wordFlags[m]
		if w == "" || !state && m != wordIgnore && Quantity(m) == "" {
			return nil, &KeyError{Key: "words." + w, Err: fmt.Errorf("%q means nothing known, want a unit (%s), hold, low-battery, over or ignore", m, UnitList)}
		}
	}
	return &simpleLine{words: t.Words, point: t.Decimal != "comma", comma: t.Decimal != "point"}, nil
}
