package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"os"

	"crownlog/analysis"
	"crownlog/analysis/units"
	"crownlog/logger/export"
	"crownlog/logger/feature"
)

// traceFlags say how to read a trace that another program wrote.
type traceFlags struct {
	Unit              string  `help:"Unit of the values where the file names none."`
	TimeColumn        string  `help:"Name of the time column." placeholder:"NAME"`
	ValueColumn       string  `help:"Name of the value column." placeholder:"NAME"`
	UnitColumn        string  `help:"Name of the unit column." placeholder:"NAME"`
	AngleColumn       string  `help:"Name of the angle column." placeholder:"NAME"`
	TemperatureColumn string  `help:"Name of the temperature column." placeholder:"NAME"`
	Interval          float64 `help:"Seconds between the rows of a file without times."`
	DecimalComma      bool    `help:"Quoted numbers with a decimal comma in a comma-separated file."`
}

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
	file     io.Closer
}

// decimalRows is how many rows are looked at for the resolution of the gauge.
const decimalRows = 1000

// openTrace opens the file at path ("-" for standard input) to be read in base.
func (f traceFlags) openTrace(con *console, path, base string) (*trace, error) {
	file, err := openInput(con, path)
	if err != nil {
		return nil, err
	}
	importer, err := export.NewImporter(path, file, export.Mapping{
		Time: f.TimeColumn, Value: f.ValueColumn, Unit: f.UnitColumn, AngleDeg: f.AngleColumn,
		TemperatureC: f.TemperatureColumn, DefaultUnit: f.Unit, Interval: f.Interval, DecimalComma: f.DecimalComma,
	})
	if err != nil {
		return nil, errors.Join(err, file.Close())
	}
	return &trace{Importer: importer, name: path, base: base, file: file}, nil
}

// openInput opens a file to read; "-" is standard input.
func openInput(con *console, path string) (io.ReadCloser, error) {
	if path == "-" {
		return io.NopCloser(con.stdin()), nil
	}
	info, err := os.Stat(path)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		return nil, usagef("name a CSV file", "%q is a directory, not a file", path)
	}
	return os.Open(path)
}

// convert brings a row to the base unit. A row without a unit has the unit of the
// row before; a file without any is taken in the base unit.
func (t *trace) convert(row *export.Row) error {
	if unit := cmp.Or(row.Unit, t.unit, t.base); unit != t.unit {
		factor, err := units.Convert(1, unit, t.base)
		if err != nil {
			return fmt.Errorf("%s:%d: %w", t.name, row.Line, err)
		}
		if t.rows == 0 {
			t.first = unit
		} else {
			t.flips = append(t.flips, row.Line)
		}
		t.unit, t.factor = unit, factor
	}
	if t.rows++; t.rows <= decimalRows {
		t.decimals = max(t.decimals, feature.DecimalsOf(row.Value))
	}
	row.Value *= t.factor
	return nil
}

// unitNotes says where the unit changed, and whether all rows are used.
func (t *trace) unitNotes() []string {
	const shown = 3
	var notes []string
	if t.every > 1 {
		notes = append(notes, fmt.Sprintf("a long trace: one reading in %d is used", t.every))
	}
	for i, line := range t.flips {
		if i == shown {
			notes = append(notes, fmt.Sprintf("and %d more changes of unit", len(t.flips)-shown))
			break
		}
		notes = append(notes, fmt.Sprintf("the unit changed at line %d; every row is converted by its own unit", line))
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

// each calls f with every row left, its value in the base unit.
func (t *trace) each(f func(export.Row) error) error {
	for row, err := range t.Rows() {
		if err == nil {
			err = t.convert(&row)
		}
		if err == nil {
			err = f(row)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// mostRows is how many rows are kept at once: some hours at ten a second, and a
// few tens of megabytes with all that a measurement makes of them.
const mostRows = 1 << 18

// collect reads all rows left, each as what a measurement takes. Of a longer
// trace it keeps every second, fourth and so on, so that a day at any rate is
// read in constant memory.
func collect[T any](t *trace, of func(export.Row) (T, error)) ([]T, error) {
	var all []T
	t.every = 1
	err := t.each(func(row export.Row) error {
		v, err := of(row)
		if (t.rows-1)%t.every != 0 {
			return err
		}
		if len(all) == mostRows {
			for i := range mostRows / 2 {
				all[i] = all[2*i]
			}
			all = all[:mostRows/2]
			t.every *= 2
		}
		all = append(all, v)
		return err
	})
	return all, err
}

// samples reads all rows as samples.
func (t *trace) samples() ([]analysis.Sample, error) {
	return collect(t, func(row export.Row) (analysis.Sample, error) { return analysis.Sample{T: row.T, X: row.Value}, nil })
}
