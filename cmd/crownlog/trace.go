package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/units"
	"crownlog/logger/export"
	"crownlog/logger/feature"
	"crownlog/logger/words"
)

// A trace is a file of readings, converted row by row to one unit. It holds one
// row at a time.
type trace struct {
	*export.Importer
	name     string
	base     string  // the unit rows are converted to
	unit     string  // unit of the last row
	factor   float64 // from unit to base
	rows     int
	first    string // unit of the first row
	flips    []int  // lines where the unit changed
	every    int    // collected rows are so many apart
	decimals int    // most decimals seen among the first rows, in the file's unit
	file     io.ReadCloser
	mapping  export.Mapping
}

// decimalRows is how many rows are looked at for the resolution of the gauge.
const decimalRows = 1000

// openTrace opens the file at path ("-" for standard input) to be read in base.
func openTrace(con *console, path, base string, m export.Mapping) (*trace, error) {
	file, err := openInput(con, path)
	if err != nil {
		return nil, err
	}
	t := &trace{name: path, base: base, file: file, mapping: m}
	if err := t.begin(); err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return t, nil
}

// begin reads the head of the file.
func (t *trace) begin() (err error) {
	t.Importer, err = export.NewImporter(t.name, t.file, t.mapping)
	return err
}

// again goes back to the first row.
func (t *trace) again() error {
	file, ok := t.file.(io.Seeker)
	if !ok {
		return usagef("name a file, or give --target or --threshold", "what is piped can be read but once")
	}
	_, err := file.Seek(0, io.SeekStart)
	t.rows, t.unit, t.flips = 0, "", nil
	return errors.Join(err, t.begin())
}

// openInput opens a file to read; "-" is standard input.
func openInput(con *console, path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(con.stdin()), nil
	}
	return os.Open(path)
}

// inBase is the value of a row in the base unit. A row without a unit has the unit of
// the row before; a file without any is taken in the base unit.
func (t *trace) inBase(row export.Row) (float64, error) {
	if unit := cmp.Or(row.Unit, t.unit, t.base); unit != t.unit {
		factor, err := units.Convert(1, unit, t.base)
		if err != nil {
			return 0, fmt.Errorf("%s:%d: %w", t.name, row.Line, err)
		}
		if t.rows == 0 {
			t.first = unit
		} else {
			t.flips = append(t.flips, row.Line)
		}
		t.unit, t.factor = strings.Clone(unit), factor // which is a piece of what was read
	}
	if t.rows++; t.rows <= decimalRows {
		t.decimals = max(t.decimals, feature.DecimalsOf(row.Value))
	}
	return row.Value * t.factor, nil
}

// unitNotes says where the unit changed, and whether all rows are used.
func (t *trace) unitNotes() []string {
	var notes []string
	if t.every > 1 {
		notes = append(notes, fmt.Sprintf("a long trace: one reading in %d is used", t.every))
	}
	if more := len(t.flips) - 1; more >= 0 {
		again := words.Given(more > 0, fmt.Sprintf(", and %d times more", more))
		notes = append(notes, fmt.Sprintf("the unit changed at line %d%s; every row is converted by its own unit", t.flips[0], again))
	}
	return notes
}

// digits is how many decimals of the base unit the gauge resolves, as far as
// the file shows it.
func (t *trace) digits() int {
	step, err := units.Convert(math.Pow10(-t.decimals), t.first, t.base)
	if err != nil || step >= 1 {
		return 0
	}
	return int(math.Ceil(-math.Log10(step) - 1e-9))
}

// rowsAhead are handed on together: a switch of goroutines costs as much as reading
// a few rows.
const rowsAhead = 1024

// each calls f with every row left, its value in the base unit. While f works on
// some rows the next are read, on a goroutine that is done when each returns.
func (t *trace) each(f func(export.Row)) (err error) {
	blocks := make(chan []export.Row)
	go func() {
		defer close(blocks)
		block, other := make([]export.Row, 0, rowsAhead), make([]export.Row, 0, rowsAhead)
		for row, wrong := range t.Rows() {
			if wrong == nil {
				row.Value, wrong = t.inBase(row)
			}
			if err = wrong; err != nil {
				break
			}
			if block = append(block, row); len(block) == rowsAhead {
				blocks <- block // taken when f has done with the other
				block, other = other[:0], block
			}
		}
		blocks <- block
	}()
	for block := range blocks {
		for _, row := range block {
			f(row)
		}
	}
	return err
}

// mostRows is how many rows are kept at once: some hours at ten a second, and a
// few tens of megabytes with all that a measurement makes of them.
const mostRows = 1 << 18

// collect reads all rows left, each as what a measurement takes. Of a longer
// trace it keeps every second, fourth and so on, so that a day at any rate is
// read in constant memory.
func collect[T any](t *trace, of func(export.Row) T) (all []T, err error) {
	t.every = 1
	rows := 0
	err = t.each(func(row export.Row) {
		if rows++; (rows-1)%t.every != 0 {
			return
		}
		if len(all) == mostRows {
			for i := range mostRows / 2 {
				all[i] = all[2*i]
			}
			all = all[:mostRows/2]
			t.every *= 2
		}
		all = append(all, of(row))
	})
	return all, err
}

// sampleOf is a row as most measurements take it.
func sampleOf(row export.Row) analysis.Sample { return analysis.Sample{T: row.T, X: row.Value} }
