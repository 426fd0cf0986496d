package journal

import (
	"errors"
	"fmt"
	"math"
	"strconv"

	"crownlog/logger/record"
)

// captureHeader is the first line of captures.csv. Columns are only ever added,
// and only before crc: an older file would not be read otherwise, and a newer
// one must be refused by its header, not misread.
const captureHeader = "id,supersedes,time,stage,feature,position,angle_deg,value,unit,u,n,low,high,quality,gauge,note,repeatability,convention,radius_mm,crc"

const (
	captureCells = 19 // without crc
	noteCell     = 15
)

// appendCapture adds the journal line of c:
//
//	id,supersedes,time,...,note,repeatability,convention,radius_mm,crc CR LF
//
// A number that is not known is an empty cell, never a zero: an uncertainty of
// zero would claim a perfect gauge. The order is that of captureHeader.
func appendCapture(dst []byte, c record.Capture) []byte {
	from := len(dst)
	number := func(v float64) {
		dst = AppendNumber(dst, v)
		dst = append(dst, ',')
	}
	whole := func(v int) {
		dst = strconv.AppendInt(dst, int64(v), 10)
		dst = append(dst, ',')
	}
	text := func(s string) { dst = appendCell(dst, GuardText(s)) }
	whole(c.ID)
	whole(c.Supersedes)
	dst = append(AppendTime(dst, c.Time), ',')
	text(c.Stage)
	text(c.Feature)
	whole(c.Position)
	number(c.AngleDeg)
	number(c.Value)
	text(c.Unit)
	number(c.U)
	whole(c.N)
	number(c.Low)
	number(c.High)
	text(c.Quality)
	text(c.Gauge)
	text(c.NoteText())
	number(c.Repeatability)
	text(c.Convention)
	number(c.RadiusMM)
	return sealLine(dst, from)
}

// parseCapture reads the cells of a journal line. It gives back all of a capture
// or, with the first thing that is wrong, nothing of it: a line whose check value
// holds and which cannot be read was written by another program.
func parseCapture(cells []string) (record.Capture, error) {
	if len(cells) != captureCells {
		return record.Capture{}, fmt.Errorf("%d cells, want %d", len(cells), captureCells)
	}
	var c record.Capture
	var failed error
	keep := func(err error) {
		if failed == nil {
			failed = err
		}
	}
	whole := func(s string) int {
		v, err := strconv.Atoi(s)
		if err != nil {
			keep(fmt.Errorf("not a whole number: %q", s))
		}
		return v
	}
	number := func(s string) float64 {
		v, err := parseNumber(s)
		keep(err)
		return v
	}
	c.ID, c.Supersedes = whole(cells[0]), whole(cells[1])
	t, err := parseTime(cells[2])
	keep(err)
	c.Time = t
	c.Stage, c.Feature = UnguardText(cells[3]), UnguardText(cells[4])
	c.Position = whole(cells[5])
	c.AngleDeg, c.Value, c.Unit = number(cells[6]), number(cells[7]), UnguardText(cells[8])
	c.U, c.N = number(cells[9]), whole(cells[10])
	c.Low, c.High = number(cells[11]), number(cells[12])
	c.Quality, c.Gauge = UnguardText(cells[13]), UnguardText(cells[14])
	c.ReadNote(UnguardText(cells[noteCell]))
	c.Repeatability = number(cells[16])
	c.Convention, c.RadiusMM = UnguardText(cells[17]), number(cells[18])
	if failed != nil {
		return record.Capture{}, failed
	}
	return c, nil
}

// checkCapture refuses what must not enter the journal, and what cannot have
// come out of it: stored is the number of the captures before c. A capture may
// supersede an earlier one only, so that no chain of corrections goes round in a
// circle; an infinite number would be a line that is not read back.
func checkCapture(c record.Capture, stored int) error {
	switch {
	case c.Stage == "":
		return errors.New("capture has no stage")
	case c.Feature == "":
		return errors.New("capture has no feature")
	case c.Position < 0:
		return fmt.Errorf("capture has position %d", c.Position)
	case c.Supersedes < 0 || c.Supersedes > stored:
		return fmt.Errorf("capture supersedes %d, which does not exist", c.Supersedes)
	}
	for _, v := range []float64{c.AngleDeg, c.Value, c.U, c.Low, c.High, c.Repeatability, c.RadiusMM} {
		if math.IsInf(v, 0) {
			return errors.New("capture holds an infinite number")
		}
	}
	return nil
}

// A captureReader turns journal lines into captures. Words that repeat share
// one string, so that a long journal stays small in memory.
type captureReader struct {
	captures []record.Capture
	cells    []string
	words    map[string]string
}

// line takes one checked line; the IDs must run on from 1 without a gap, so
// that a line that has vanished is noticed.
func (r *captureReader) line(_ int, text string) error {
	cells, err := splitCells(text, r.cells)
	if err != nil {
		return err
	}
	r.cells = cells
	if len(cells) == captureCells {
		cells[noteCell] = r.word(cells[noteCell]) // what is cut out of it would keep the whole line in memory
	}
	c, err := parseCapture(cells)
	if err != nil {
		return err
	}
	if c.ID != len(r.captures)+1 {
		return fmt.Errorf("capture %d follows capture %d: a line is missing or doubled", c.ID, len(r.captures))
	}
	if err := checkCapture(c, len(r.captures)); err != nil {
		return err
	}
	c.Stage, c.Feature, c.Unit = r.word(c.Stage), r.word(c.Feature), r.word(c.Unit)
	c.Quality, c.Gauge = r.word(c.Quality), r.word(c.Gauge)
	c.Convention = r.word(c.Convention)
	r.captures = append(r.captures, c)
	return nil
}

// maxWords bounds the shared strings. Stages, features and units are a few dozen
// words; notes can all be different and would make the map as large as the
// journal.
const maxWords = 4096

func (r *captureReader) word(s string) string {
	if w, ok := r.words[s]; ok {
		return w
	}
	if r.words == nil {
		r.words = make(map[string]string)
	}
	w := string(append([]byte(nil), s...))
	if len(r.words) < maxWords {
		r.words[w] = w
	}
	return w
}
