package frame

import (
	"bytes"
	"cmp"
	"fmt"
)

// A columnLine reads lines of fields between separators.
type columnLine struct {
	Text
	sep    []byte
	simple *simpleLine
}

func newColumnLine(t Text, simple *simpleLine) (lineReader, error) {
	c := &columnLine{t, []byte(cmp.Or(t.Separator, ",")), simple}
	if len(t.Separator) > 1 {
		return nil, fmt.Errorf("separator %q: want one character", t.Separator)
	}
	if t.Columns < 0 {
		return nil, fmt.Errorf("columns %d: want 1 or more", t.Columns)
	}
	for _, at := range []struct {
		key string
		n   int
	}{{"column", t.Column}, {"unit_column", t.UnitAt}, {"seq_column", t.SeqAt}} {
		if at.n < 0 || t.Columns > 0 && at.n > t.Columns {
			return nil, fmt.Errorf("%s %d: want 1 to the number of columns", at.key, at.n)
		}
	}
	if c.sep[0] == ',' && t.Decimal == "comma" {
		return nil, fmt.Errorf("decimal %q with a comma between columns", t.Decimal)
	}
	return c.read, nil
}

// read decodes one line: the value column holds one simple value, the other
// columns anything printable.
func (c *columnLine) read(line []byte) (Frame, number) {
	var (
		f, last Frame // last holds the sequence number
		n       number
		unit    string
		fields  int
	)
	for more := true; more; {
		var text []byte
		text, line, more = bytes.Cut(line, c.sep)
		if i := bytes.IndexFunc(text, isControl); i >= 0 {
			return Frame{Bad: stray(text[i])}, n
		}
		text = trim(text)
		fields++
		switch fields {
		case c.Column:
			if len(text) == 0 {
				return Frame{Bad: "value column is empty"}, n
			}
			f, n = c.simple.read(text)
			if f.Bad != "" {
				return f, n
			}
		case c.UnitAt:
			if unit = c.simple.unitWord(text); unit == "" {
				return Frame{Bad: "unit is not known"}, n
			}
		default:
			if errorWord(text) {
				return Frame{Bad: errorMessage}, n
			}
		}
		if fields == c.SeqAt {
			last.Numbered, last.Seq = len(text) > 0, sequence(text)
		}
	}
	if fields < c.Column || c.Columns > 0 && fields != c.Columns {
		return Frame{Bad: "columns missing or too many"}, n
	}
	f.Unit = cmp.Or(unit, f.Unit)
	f.Numbered, f.Seq = last.Numbered, last.Seq
	return f, n
}
