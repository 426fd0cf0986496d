package export

import (
	"bufio"
	"bytes"
	"cmp"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"iter"
	"math"
	"slices"
	"strings"

	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// A Mapping names the columns of a CSV file from elsewhere; "" stands for the
// usual names time, value, unit, angle_deg and temperature_c. Upper and lower
// case are the same.
type Mapping struct {
	Time, Value, Unit, AngleDeg, TemperatureC string
	DefaultUnit                               string  // of rows that name none
	Interval                                  float64 // seconds between rows of a file without time; 0: none, see NeedTime
	DecimalComma                              bool    // in a file whose columns are separated by commas, its numbers quoted
}

// A Row is one reading of an imported file.
type Row struct {
	Line         int
	T            float64 // seconds: as in the file, or from the first row where it has dates; 0: see NeedTime
	Value        float64 // as in the file, in Unit
	Unit         string
	AngleDeg     float64 // NaN: none
	TemperatureC float64 // NaN: none
}

// An ImportError says what is wrong with an imported file, and where.
type ImportError struct {
	File         string
	Line, Column int // 1-based; 0: the file as a whole
	Text         string
	Wants        Want // what in Mapping would help; "": nothing
}

// A Want is a member of Mapping that would let a file be read.
type Want string

// The members that an ImportError can ask for.
const (
	WantTime         Want = "time"
	WantValue        Want = "value"
	WantDecimalComma Want = "decimal-comma"
)

func (e *ImportError) Error() string {
	if e.Line == 0 {
		return e.File + ": " + e.Text
	}
	return fmt.Sprintf("%s:%d:%d: %s", e.File, e.Line, e.Column, e.Text)
}

// An Importer reads readings from CSV row by row in constant memory: from any
// program (comma, semicolon or tab between the columns, with or without a byte
// order mark, decimal comma where the columns allow it) or from a readings
// file of a job folder, whose check values it verifies. It is strict: what is
// not a finite number is an error with its place, never a zero.
type Importer struct {
	HasTime, HasAngle bool // whether the file has such a column

	name string
	m    Mapping
	csv  *csv.Reader
	row  rowLimit
	next func() (device.Event, error, bool) // of a readings file; nil: foreign CSV
	stop func()

	width                             int
	value, time, unit, angle, celsius int // columns, -1: none
	decimalComma                      bool
	head                              string // the columns, to be told
	clock                             rowClock
	skipped                           int // lines before the header
	events, rows                      int
	gauge                             string  // of a readings file, whose rows are given
	warmth                            float64 // of a readings file, °C as last read; NaN: not yet
	unitOf                            string  // unit of the event before
	warm                              bool    // which is a temperature's
}

// longestRow is far above any row of readings, and no load for any computer.
const longestRow = 1 << 20

// A rowLimit reads so many bytes and no more: a file without line ends, or with a
// quote that is never closed, would else be read into memory to its end.
type rowLimit struct {
	r    io.Reader
	left int
}

func (l *rowLimit) Read(p []byte) (int, error) {
	if l.left <= 0 {
		return 0, errors.New("a row is longer than 1 MiB: a quote is open, or it is no CSV file")
	}
	n, err := l.r.Read(p[:min(len(p), l.left)])
	l.left -= n
	return n, err
}

// NewImporter reads the header of r; name stands for the file in errors.
func NewImporter(name string, r io.Reader, m Mapping) (*Importer, error) {
	im := &Importer{name: name, m: m, stop: func() {}, row: rowLimit{r, longestRow}}
	br := bufio.NewReaderSize(&im.row, 64<<10)
	if journal.IsReadings(br) {
		im.row.left = math.MaxInt // its lines are looked at one by one
		im.HasTime, im.warmth = true, math.NaN()
		im.next, im.stop = iter.Pull2(journal.Readings(name, br))
		return im, nil
	}
	comma, err := im.separator(br)
	if err != nil {
		return nil, err
	}
	im.csv = csv.NewReader(br)
	im.csv.Comma, im.csv.ReuseRecord = comma, true
	im.csv.TrimLeadingSpace = comma != '\t'
	im.decimalComma = comma != ',' || m.DecimalComma
	head, err := im.csv.Read()
	if err != nil {
		return nil, im.readError(err)
	}
	return im, im.header(slices.Clone(head))
}

// separator looks at the first line for what stands between the columns. A
// first line "sep=;" says it, and is taken out of the stream.
func (im *Importer) separator(br *bufio.Reader) (comma rune, err error) {
	if start, _ := br.Peek(3); bytes.Equal(start, []byte("\uFEFF")) {
		br.Discard(3)
	} else if bytes.HasPrefix(start, []byte{0xFF, 0xFE}) || bytes.HasPrefix(start, []byte{0xFE, 0xFF}) {
		return 0, &ImportError{File: im.name, Text: "the text is UTF-16: save it as CSV UTF-8"}
	}
	start, err := br.Peek(br.Size())
	if err != nil && err != io.EOF {
		return 0, im.readError(err)
	}
	if len(bytes.TrimSpace(start)) == 0 {
		return 0, &ImportError{File: im.name, Text: "the file is empty"}
	}
	if bytes.IndexByte(start, '\n') < 0 && bytes.IndexByte(bytes.TrimSpace(start), '\r') >= 0 {
		return 0, &ImportError{File: im.name, Text: "the line ends are CR alone: save it with LF or CR LF"}
	}
	first, _, _ := bytes.Cut(start, []byte("\n"))
	if said, ok := bytes.CutPrefix(bytes.TrimSpace(first), []byte("sep=")); ok && len(said) == 1 {
		br.Discard(len(first) + 1)
		im.skipped = 1
		return rune(said[0]), nil
	}
	comma = ','
	for _, c := range []rune{';', '\t'} {
		if bytes.Count(first, []byte(string(c))) > bytes.Count(first, []byte(string(comma))) {
			comma = c
		}
	}
	return comma, nil
}

// header finds the columns.
func (im *Importer) header(head []string) error {
	im.width, im.head = len(head), record.CutLong(strings.Join(head, ", "))
	for _, c := range []struct {
		at           *int
		named, usual string
	}{
		{&im.value, im.m.Value, "value"}, {&im.time, im.m.Time, "time"}, {&im.unit, im.m.Unit, "unit"},
		{&im.angle, im.m.AngleDeg, "angle_deg"}, {&im.celsius, im.m.TemperatureC, "temperature_c"},
	} {
		want := cmp.Or(c.named, c.usual)
		*c.at = -1
		for i, h := range head {
			if !strings.EqualFold(strings.TrimSpace(h), want) {
				continue
			}
			if *c.at >= 0 {
				return im.fail(i, "column %q is there twice", want)
			}
			*c.at = i
		}
		if *c.at < 0 && (c.named != "" || c.usual == "value") {
			e := im.fail(0, "no column %q; the columns are %s", want, im.head)
			if c.named == "" {
				e.Wants = WantValue
			}
			return e
		}
	}
	im.HasTime, im.HasAngle = im.time >= 0, im.angle >= 0
	return nil
}

// NeedTime is an error when the file neither has a time column nor was given an
// interval, so that its rows have places in order but no times.
func (im *Importer) NeedTime() error {
	if im.HasTime || im.m.Interval > 0 {
		return nil
	}
	return &ImportError{File: im.name, Line: 1 + im.skipped, Column: 1, Wants: WantTime,
		Text: fmt.Sprintf("no column \"time\"; the columns are %s", im.head)}
}

// Close lets go of the file's reader. It is needed only when the rows were not
// read to their end.
func (im *Importer) Close() { im.stop() }

// Next returns the next row, io.EOF after the last. A file with a header and
// no row is an error.
func (im *Importer) Next() (Row, error) {
	if im.next != nil {
		return im.nextReading()
	}
	im.row.left = longestRow
	cells, err := im.csv.Read()
	if err == io.EOF {
		return Row{}, im.atEnd()
	}
	if err != nil {
		return Row{}, im.readError(err)
	}
	row := Row{Unit: im.m.DefaultUnit}
	row.Line, _ = im.csv.FieldPos(0)
	row.Line += im.skipped
	for _, c := range []struct {
		to     *float64
		column int
		what   string
	}{{&row.Value, im.value, "value"}, {&row.AngleDeg, im.angle, "angle"}, {&row.TemperatureC, im.celsius, "temperature"}} {
		if *c.to, err = im.number(cells, c.column, c.what); err != nil {
			return Row{}, err
		}
	}
	if im.unit >= 0 {
		row.Unit = cmp.Or(strings.TrimSpace(cells[im.unit]), im.m.DefaultUnit)
		if cut := record.CutLong(row.Unit); cut != row.Unit {
			return Row{}, im.fail(im.unit, "%q is no unit", cut)
		}
	}
	if row.T, err = im.seconds(cells); err != nil {
		return Row{}, err
	}
	im.rows++
	return row, nil
}

// atEnd is io.EOF, or what is wrong with a file that had no row.
func (im *Importer) atEnd() error {
	if im.rows == 0 {
		return &ImportError{File: im.name, Text: "there is no reading after the header"}
	}
	return io.EOF
}

// nextReading is Next on a readings file: rows without a value are gaps, and a
// thermometer's go with the rows after them.
func (im *Importer) nextReading() (Row, error) {
	for {
		ev, err, more := im.next()
		if !more {
			return Row{}, im.atEnd()
		}
		if err != nil {
			return Row{}, err
		}
		im.events++
		line := im.events + 1 // each event has one line, after the header
		if ev.Kind != device.EventReading {
			continue
		}
		if im.unitOf != ev.Reading.Unit || im.rows == 0 {
			quantity, _, err := units.Canonical(ev.Reading.Unit)
			im.unitOf, im.warm = ev.Reading.Unit, err == nil && quantity == "temperature"
		}
		if im.warm {
			im.warmth = ev.Reading.Value // of a thermometer beside the gauge
			continue
		}
		im.rows++
		if im.rows == 1 {
			im.gauge = ev.Gauge
		}
		t, err := im.clock.date(ev.Time)
		switch {
		case err != nil:
			return Row{}, &ImportError{File: im.name, Line: line, Column: 1, Text: err.Error()}
		case ev.Gauge != im.gauge:
			return Row{}, &ImportError{File: im.name, Line: line, Column: 1,
				Text: fmt.Sprintf("readings of gauge %q among those of gauge %q: they are not one trace", record.CutLong(ev.Gauge), record.CutLong(im.gauge))}
		}
		return Row{
			Line: line, T: t, Value: ev.Reading.Value, Unit: cmp.Or(ev.Reading.Unit, im.m.DefaultUnit),
			AngleDeg: math.NaN(), TemperatureC: im.warmth,
		}, nil
	}
}

// number is the cell of a column, NaN where the file has no such column.
func (im *Importer) number(cells []string, column int, what string) (float64, error) {
	if column < 0 {
		return math.NaN(), nil
	}
	v, err := importNumber(cells[column], im.decimalComma)
	if err != nil {
		e := im.fail(column, "%s %v", what, err)
		if _, comma := importNumber(cells[column], true); comma == nil {
			e.Wants = WantDecimalComma
		}
		return 0, e
	}
	return v, nil
}

func (im *Importer) seconds(cells []string) (float64, error) {
	if im.time < 0 {
		return float64(im.rows) * im.m.Interval, nil
	}
	t, err := im.clock.read(cells[im.time], im.decimalComma)
	if err != nil {
		return 0, im.fail(im.time, "%v", err)
	}
	return t, nil
}

// fail places an error at a column of the record read last.
func (im *Importer) fail(column int, format string, args ...any) *ImportError {
	line, at := im.csv.FieldPos(column)
	return &ImportError{File: im.name, Line: line + im.skipped, Column: at, Text: fmt.Sprintf(format, args...)}
}

// readError places an error of the CSV reader.
func (im *Importer) readError(err error) error {
	var parse *csv.ParseError
	if !errors.As(err, &parse) {
		return fmt.Errorf("read %s: %w", im.name, err)
	}
	e := &ImportError{File: im.name, Line: parse.Line + im.skipped, Column: parse.Column, Text: parse.Err.Error()}
	if errors.Is(err, csv.ErrFieldCount) {
		e.Text = fmt.Sprintf("this row has not the %d columns of the header", im.width)
		if !im.decimalComma {
			e.Text += "; numbers with a decimal comma need semicolons between the columns"
		}
	}
	return e
}
