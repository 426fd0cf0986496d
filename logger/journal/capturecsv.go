package journal

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"time"

	"crownlog/logger/record"
)

// captureHeader is the first line of captures.csv. Columns are only ever added,
// and only before crc: an older file would not be read otherwise, and a newer
// one must be refused by its header, not misread.
const captureHeader = "id,supersedes,time,stage,feature,position,angle_deg,value,unit,u,n,low,high,quality,gauge,note,repeatability,convention,radius_mm,crc"

const captureCells = 19 // without crc

// cellsOf are what the cells of a capture's line hold, in the order of
// captureHeader: for writing as for reading.
func cellsOf(c *record.Capture, note *string) [captureCells]any {
	return [...]any{
		&c.ID, &c.Supersedes, &c.Time, &c.Stage, &c.Feature, &c.Position, &c.AngleDeg, &c.Value, &c.Unit,
		&c.U, &c.N, &c.Low, &c.High, &c.Quality, &c.Gauge, note, &c.Repeatability, &c.Convention, &c.RadiusMM,
	}
}

// appendCapture adds the journal line of c:
//
//	id,supersedes,time,...,note,repeatability,convention,radius_mm,crc CR LF
//
// A number that is not known is an empty cell, never a zero: an uncertainty of
// zero would claim a perfect gauge.
func appendCapture(dst []byte, c record.Capture) []byte {
	from, note := len(dst), c.NoteText()
	for _, cell := range cellsOf(&c, &note) {
		switch v := cell.(type) {
		case *int:
			dst = append(strconv.AppendInt(dst, int64(*v), 10), ',')
		case *float64:
			dst = append(AppendNumber(dst, *v), ',')
		case *time.Time:
			dst = append(AppendTime(dst, *v), ',')
		case *string:
			dst = appendCell(dst, GuardText(*v))
		}
	}
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
	in, note := cellReader{cells: cells}, ""
	for _, cell := range cellsOf(&c, &note) {
		switch v := cell.(type) {
		case *int:
			*v = in.whole()
		case *float64:
			*v = in.number()
		case *time.Time:
			*v = in.time()
		case *string:
			*v = in.text()
		}
	}
	c.ReadNote(note)
	if in.err != nil {
		return record.Capture{}, in.err
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
	for _, cell := range cellsOf(&c, new(string)) {
		if v, ok := cell.(*float64); ok && math.IsInf(*v, 0) {
			return errors.New("capture holds an infinite number")
		}
	}
	return nil
}

// A captureReader turns journal lines into captures.
type captureReader struct {
	captures []record.Capture
	cells    []string
}

// capture reads the cells of one checked line.
func (r *captureReader) capture(text string) (c record.Capture, err error) {
	if r.cells, err = splitCells(text, r.cells); err != nil {
		return c, err
	}
	return parseCapture(r.cells)
}

// line takes one checked line; the IDs must run on from 1 without a gap, so
// that a line that has vanished is noticed.
func (r *captureReader) line(text string) error {
	c, err := r.capture(text)
	if err != nil {
		return err
	}
	if c.ID != len(r.captures)+1 {
		return fmt.Errorf("capture %d follows capture %d: a line is missing or doubled", c.ID, len(r.captures))
	}
	if err := checkCapture(c, len(r.captures)); err != nil {
		return err
	}
	r.captures = append(r.captures, c)
	return nil
}
