package journal

import (
	"encoding/hex"
	"errors"
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"
	"time"

	"crownlog/logger/record"
)

// captureHeader is the first line of captures.csv. Columns are only ever added,
// and only before crc: an older file would not be read otherwise, and a newer
// one must be refused by its header, not misread.
const captureHeader = captureColumns + ",chain,crc"

// oldHeader is that of a job begun before there was a chain, and partlessHeader of
// one from before the parts of u were stored. It goes on under it, with longer
// lines: a line that was written is never written again.
const (
	oldHeader      = oldColumns + ",crc"
	partlessHeader = oldColumns + ",readings,chain,crc"
)

// olderHeaders are those of jobs from before, the latest first.
var olderHeaders = []string{partlessHeader, oldHeader}

const (
	captureColumns = oldColumns + ",readings,u_own,u_hand"
	oldColumns     = "id,supersedes,time,stage,feature,position,angle_deg,value,unit,u,n,low,high,quality,gauge,note,repeatability,convention,radius_mm"
)

const (
	oldCells      = 19                // without crc
	partlessCells = oldCells + 1      // without chain and crc
	captureCells  = partlessCells + 2 // as well
)

// A part of an uncertainty is an empty cell where it is 0: not known apart.
type part float64

// cellsOf are what the cells of a capture's line hold, in the order of
// captureHeader: for writing as for reading.
func cellsOf(c *record.Capture, note *string) [captureCells]any {
	return [...]any{
		&c.ID, &c.Supersedes, &c.Time, &c.Stage, &c.Feature, &c.Position, &c.AngleDeg, &c.Value, &c.Unit,
		&c.U, &c.N, &c.Low, &c.High, &c.Quality, &c.Gauge, note, &c.Repeatability, &c.Convention, &c.RadiusMM, &c.From,
		(*part)(&c.OwnU), (*part)(&c.HandU),
	}
}

// appendCapture adds the journal line of c, which follows after those with the
// value sum, and returns its value too:
//
//	id,supersedes,time,...,readings,u_own,u_hand,chain,crc CR LF
//
// A number that is not known is an empty cell, never a zero: an uncertainty of
// zero would claim a perfect gauge.
func appendCapture(dst []byte, c record.Capture, sum chainSum) ([]byte, chainSum) {
	from := len(dst)
	dst = appendCells(dst, c, captureCells)
	sum = sum.next(dst[from : len(dst)-1])
	dst = append(hex.AppendEncode(dst, sum[:]), ',')
	return sealLine(dst, from), sum
}

// appendCells adds the first n cells of c, each with a comma behind it.
func appendCells(dst []byte, c record.Capture, n int) []byte {
	note := c.NoteText()
	cells := cellsOf(&c, &note)
	for _, cell := range cells[:n] {
		switch v := cell.(type) {
		case *int:
			dst = append(strconv.AppendInt(dst, int64(*v), 10), ',')
		case *float64:
			dst = append(AppendNumber(dst, *v), ',')
		case *part:
			if *v == 0 {
				*v = part(math.NaN())
			}
			dst = append(AppendNumber(dst, float64(*v)), ',')
		case *time.Time:
			dst = append(appendZoned(dst, *v), ',')
		case *string:
			dst = appendCell(dst, GuardText(*v))
		}
	}
	return dst
}

// parseCapture reads the cells of a journal line. It gives back all of a capture
// or, with the first thing that is wrong, nothing of it: a line whose check value
// holds and which cannot be read was written by another program.
func parseCapture(cells []string) (record.Capture, error) {
	if n := len(cells); n != oldCells && n != partlessCells && n != captureCells {
		return record.Capture{}, fmt.Errorf("%d cells, want %d", len(cells), captureCells)
	}
	var c record.Capture
	in, note := cellReader{cells: cells}, ""
	all := cellsOf(&c, &note)
	for _, cell := range all[:len(cells)] {
		switch v := cell.(type) {
		case *int:
			*v = in.whole()
		case *float64:
			*v = in.number()
		case *part:
			if n := in.number(); n > 0 || n < 0 {
				*v = part(n)
			}
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

// mostPositions is more than any round has: no crown wheel has as many teeth, nor
// a cover as many bolts.
const mostPositions = 1000

// checkCapture refuses what must not enter the journal, and what cannot have
// come out of it: stored is the number of the captures before c. A capture may
// supersede an earlier one only, so that no chain of corrections goes round in a
// circle; an infinite number would be a line that is not read back. A value in
// another unit than its feature's would be judged as if it were in that.
func checkCapture(c record.Capture, stored int) error {
	unit, known := record.UnitOf(c.Feature)
	switch {
	case c.Stage == "":
		return errors.New("capture has no stage")
	case c.Feature == "":
		return errors.New("capture has no feature")
	case !known:
		return fmt.Errorf("unknown feature %q", c.Feature)
	case record.SafeName(c.Stage) != nil:
		return fmt.Errorf("stage %q is none", c.Stage)
	case c.Position < 0 || c.Position > mostPositions:
		return fmt.Errorf("capture has position %d", c.Position)
	case c.Supersedes < 0 || c.Supersedes > stored:
		return fmt.Errorf("capture supersedes %d, which does not exist", c.Supersedes)
	case record.IsMeasured(c.Feature) && !math.IsNaN(c.Value) && c.Unit != unit:
		return fmt.Errorf("unit %q of a capture that is kept in %q", c.Unit, unit)
	case c.U < 0, c.OwnU < 0, c.HandU < 0:
		return fmt.Errorf("uncertainty %v is less than 0", min(c.U, c.OwnU, c.HandU))
	case c.N < 0:
		return fmt.Errorf("count of readings %d is less than 0", c.N)
	}
	for _, cell := range cellsOf(&c, new(string)) {
		v, _ := cell.(*float64)
		if p, ok := cell.(*part); ok {
			v = (*float64)(p)
		}
		if v != nil && math.IsInf(*v, 0) {
			return errors.New("capture holds an infinite number")
		}
	}
	return nil
}

// Differs says in what two captures differ that ought to be one, but for their
// number and what the store adds; "" for nothing. Numbers are stored to 1e-6, of
// which another processor may round the last digit the other way. Before the parts
// of u were stored it was made by another rule.
func Differs(stored, again record.Capture) string {
	stored.ID, stored.From, stored.By = again.ID, again.From, again.By
	if stored.OwnU == 0 && again.OwnU > 0 {
		stored.U, stored.OwnU, stored.HandU = again.U, again.OwnU, again.HandU
	}
	noteA, noteB := stored.NoteText(), again.NoteText()
	columns := strings.Split(captureColumns, ",")
	b := cellsOf(&again, &noteB)
	for i, cell := range cellsOf(&stored, &noteA) {
		same := reflect.DeepEqual(cell, b[i])
		switch v := cell.(type) {
		case *float64:
			w := *b[i].(*float64)
			same = math.Abs(*v-w) <= 2e-6 || math.IsNaN(*v) && math.IsNaN(w)
		case *part:
			same = math.Abs(float64(*v-*b[i].(*part))) <= 2e-6
		case *time.Time:
			same = v.Equal(*b[i].(*time.Time))
		}
		if !same {
			return fmt.Sprintf("the %s is %v in the record and %v from its readings", columns[i], reflect.ValueOf(cell).Elem(), reflect.ValueOf(b[i]).Elem())
		}
	}
	return ""
}
