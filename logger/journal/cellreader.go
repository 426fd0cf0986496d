package journal

import (
	"fmt"
	"math"
	"strconv"
	"time"
	"unique"
)

// A cellReader takes the cells of a line one after the other, in the order they
// were written, and keeps the first thing that is wrong with one.
type cellReader struct {
	cells []string
	err   error

	cell, words string // the text read last
}

func (r *cellReader) raw() string {
	cell := r.cells[0]
	r.cells = r.cells[1:]
	return cell
}

func (r *cellReader) fail(format string, args ...any) {
	if r.err == nil {
		r.err = fmt.Errorf(format, args...)
	}
}

// text is without what unwanted names, which this program does not write.
// It is the same string for the same words, so that a long journal stays small
// in memory: a piece of each line would keep all of it there.
func (r *cellReader) text() string {
	if cell := r.raw(); cell != r.cell {
		r.cell, r.words = cell, unique.Make(oneLine(unguardText(cell))).Value()
	}
	return r.words
}

func (r *cellReader) whole() int {
	s := r.raw()
	v, err := strconv.Atoi(s)
	if err != nil {
		r.fail("not a whole number: %q", s)
	}
	return v
}

// number reads what AppendNumber wrote; an empty cell is NaN. The words for
// not-a-number and infinity, which strconv reads, are no numbers here: they were
// never written, and would pass for a missing or a real value.
func (r *cellReader) number() float64 {
	s := r.raw()
	if s == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		r.fail("not a number: %q", s)
	}
	return v
}

// time reads what AppendTime or appendZoned wrote, in the zone it was written in:
// what the clock on the wall said where the measurement was made.
func (r *cellReader) time() time.Time {
	s := r.raw()
	if s == "" {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		r.fail("not a time: %q", s)
	}
	return zoned(t)
}
