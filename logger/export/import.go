package export

import (
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"io"
	"iter"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// A Mapping names the columns of a CSV file from elsewhere, as the command line does;
// "" stands for the usual names time, value, unit, angle_deg and temperature_c. Upper
// and lower case are the same.
type Mapping struct {
	DefaultUnit  string  `name:"unit" help:"Unit of the values where the file names none."`
	Time         string  `name:"time-column" help:"Name of the time column." placeholder:"NAME"`
	Value        string  `name:"value-column" help:"Name of the value column." placeholder:"NAME"`
	Unit         string  `name:"unit-column" help:"Name of the unit column." placeholder:"NAME"`
	AngleDeg     string  `name:"angle-column" help:"Name of the angle column." placeholder:"NAME"`
	TemperatureC string  `name:"temperature-column" help:"Name of the temperature column." placeholder:"NAME"`
	Interval     float64 `help:"Seconds between the rows of a file without times."` // 0: none, see NeedTime
	DecimalComma bool    `help:"Quoted numbers with a decimal comma in a comma-separated file."`
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

// An ImportError says what is wrong with an imported file, and where, with the flag
// that would let it be read.
type ImportError struct {
	File         string
	Line, Column int // 1-based; 0: the file as a whole
	Text         string
}

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

	name     string
	m        Mapping
	in       *bufio.Reader
	readings bool // of a job folder

	width                             int
	comma                             string // stands between the columns
	value, time, unit, angle, celsius int    // columns, -1: none
	decimalComma                      bool
	head                              string // the columns, to be told
	clock                             rowClock
	rows                              int

	line  int      // the latest that was read
	cells []string // of it
	at    []int    // columns at which they begin, 1-based
}

// longestLine is far above any row of readings, and no load for any computer.
const longestLine = 1 << 20

// NewImporter reads the header of r; name stands for the file in errors.
func NewImporter(name string, r io.Reader, m Mapping) (*Importer, error) {
	im := &Importer{name: name, m: m, in: bufio.NewReaderSize(r, longestLine)}
	if im.readings = journal.IsReadings(im.in); im.readings {
		im.HasTime = true
		return im, nil
	}
	if err := im.separator(); err != nil {
		return nil, err
	}
	im.decimalComma = im.comma != "," || m.DecimalComma
	if err := im.read(); err != nil {
		return nil, err
	}
	return im, im.header(slices.Clone(im.cells))
}

// separator looks at the first line for what stands between the columns. A
// first line "sep=;" says it, and is taken out of the stream.
func (im *Importer) separator() error {
	if start, _ := im.in.Peek(3); bytes.Equal(start, []byte("\uFEFF")) {
		im.in.Discard(3)
	} else if bytes.HasPrefix(start, []byte{0xFF, 0xFE}) || bytes.HasPrefix(start, []byte{0xFE, 0xFF}) {
		return &ImportError{File: im.name, Text: "the text is UTF-16: save it as CSV UTF-8"}
	}
	start, err := im.in.Peek(im.in.Size())
	if err != nil && err != io.EOF {
		return fmt.Errorf("read %s: %w", im.name, err)
	}
	if len(bytes.TrimSpace(start)) == 0 {
		return &ImportError{File: im.name, Text: "the file is empty"}
	}
	if bytes.IndexByte(start, '\n') < 0 && bytes.IndexByte(bytes.TrimSpace(start), '\r') >= 0 {
		return &ImportError{File: im.name, Text: "the line ends are CR alone: save it with LF or CR LF"}
	}
	first, _, _ := bytes.Cut(start, []byte("\n"))
	if said, ok := bytes.CutPrefix(bytes.TrimSpace(first), []byte("sep=")); ok && len(said) == 1 {
		im.comma, im.line = string(said), 1
		im.in.Discard(len(first) + 1)
		return nil
	}
	im.comma = ","
	for _, c := range []string{";", "\t"} {
		if bytes.Count(first, []byte(c)) > bytes.Count(first, []byte(im.comma)) {
			im.comma = c
		}
	}
	return nil
}

// read reads the next line that holds something, io.EOF after the last.
func (im *Importer) read() error {
	line := ""
	for line == "" {
		im.line++
		text, err := im.in.ReadSlice('\n')
		switch {
		case err == bufio.ErrBufferFull:
			return &ImportError{File: im.name, Line: im.line, Column: 1, Text: "the line is longer than 1 MiB: it is no CSV file"}
		case err == io.EOF && len(text) == 0:
			return io.EOF
		case err != nil && err != io.EOF:
			return fmt.Errorf("read %s: %w", im.name, err)
		}
		line = strings.TrimRight(string(text), "\r\n")
	}
	return im.split(line)
}

// quoted is a cell in quotes, in which a quote is doubled.
var quoted = regexp.MustCompile(`^ *"((?:[^"]|"")*)" *`)

// split takes a line apart. A quoted cell ends where it began, in one line.
func (im *Importer) split(line string) error {
	im.cells, im.at = im.cells[:0], im.at[:0]
	quotes := strings.Contains(line, `"`)
	for rest, more := line, true; more; {
		im.at = append(im.at, len(line)-len(rest)+1)
		var cell string
		if !quotes {
			cell, rest, more = strings.Cut(rest, im.comma)
		} else if in := quoted.FindStringSubmatch(rest); in != nil {
			cell = strings.ReplaceAll(in[1], `""`, `"`)
			rest, more = strings.CutPrefix(rest[len(in[0]):], im.comma)
		} else if cell, rest, more = strings.Cut(rest, im.comma); strings.Contains(cell, `"`) {
			rest, more = cell, false
		}
		im.cells = append(im.cells, cell)
		if !more && rest != "" {
			return im.fail(len(im.cells)-1, "quotes do not match")
		}
	}
	if im.width > 0 && len(im.cells) != im.width {
		e := im.fail(0, "this row has not the %d columns of the header", im.width)
		if !im.decimalComma {
			e.Text += "; numbers with a decimal comma need semicolons between the columns"
		}
		return e
	}
	return nil
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
				e.Text += "; name it with --value-column"
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
	return &ImportError{File: im.name, Line: im.line, Column: 1, Text: fmt.Sprintf(
		"no column \"time\"; the columns are %s; name it with --time-column, or give the seconds between rows with --interval", im.head)}
}

// Rows are the rows in order, up to the first that cannot be read. A file with a
// header and no row is an error.
func (im *Importer) Rows() iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		next := im.foreign
		if im.readings {
			next = im.recorded
		}
		for row, err := range next {
			if !yield(row, err) || err != nil {
				return
			}
			im.rows++
		}
		if im.rows == 0 {
			yield(Row{}, &ImportError{File: im.name, Text: "there is no reading after the header"})
		}
	}
}

// foreign are the rows of a file from elsewhere.
func (im *Importer) foreign(yield func(Row, error) bool) {
	for err := im.read(); err != io.EOF; err = im.read() {
		row := Row{Line: im.line}
		if err == nil {
			err = im.parse(&row)
		}
		if !yield(row, err) || err != nil {
			return
		}
	}
}

// parse reads a row from its cells.
func (im *Importer) parse(row *Row) (err error) {
	row.Value = im.number(im.value, "value", &err)
	row.AngleDeg = im.number(im.angle, "angle", &err)
	row.TemperatureC = im.number(im.celsius, "temperature", &err)
	if err != nil {
		return err
	}
	if row.Unit = im.m.DefaultUnit; im.unit >= 0 {
		row.Unit = cmp.Or(strings.TrimSpace(im.cells[im.unit]), im.m.DefaultUnit)
		if cut := record.CutLong(row.Unit); cut != row.Unit {
			return im.fail(im.unit, "%q is no unit", cut)
		}
	}
	if im.time < 0 {
		row.T = float64(im.rows) * im.m.Interval
	} else if row.T, err = im.clock.read(im.cells[im.time], im.decimalComma); err != nil {
		return im.fail(im.time, "%v", err)
	}
	return nil
}

// recorded are the rows of a readings file: lines without a value are gaps, and a
// thermometer's go with the rows after them.
func (im *Importer) recorded(yield func(Row, error) bool) {
	gauge, unit := "", ""
	warm, celsius := false, math.NaN() // whether that is a temperature's, and the last
	line := 1                          // the header's; each event has one
	for ev, err := range journal.Readings(im.name, im.in) {
		if err != nil {
			yield(Row{}, err)
			return
		}
		line++
		if ev.Kind != device.EventReading {
			continue
		}
		r := ev.Reading
		if r.Unit != unit {
			quantity, _, unknown := units.Canonical(r.Unit)
			unit, warm = r.Unit, unknown == nil && quantity == "temperature"
		}
		if warm {
			celsius = r.Value
			continue
		}
		t := im.clock.since(ev.Time)
		if !im.clock.forward(t) {
			err = fmt.Errorf(goesBack, ev.Time.Format(time.RFC3339Nano))
		} else if gauge = cmp.Or(gauge, ev.Gauge); ev.Gauge != gauge {
			err = fmt.Errorf("readings of gauge %q among those of gauge %q: they are not one trace", record.CutLong(ev.Gauge), record.CutLong(gauge))
		}
		if err != nil {
			err = &ImportError{File: im.name, Line: line, Column: 1, Text: err.Error()}
		}
		row := Row{Line: line, T: t, Value: r.Value, Unit: cmp.Or(r.Unit, im.m.DefaultUnit), AngleDeg: math.NaN(), TemperatureC: celsius}
		if !yield(row, err) || err != nil {
			return
		}
	}
}

// number is the cell of a column, NaN where the file has no such column, or err is
// set already.
func (im *Importer) number(column int, what string, err *error) float64 {
	if column < 0 || *err != nil {
		return math.NaN()
	}
	v, wrong := importNumber(im.cells[column], im.decimalComma)
	if wrong != nil {
		e := im.fail(column, "%s %v", what, wrong)
		if _, comma := importNumber(im.cells[column], true); comma == nil {
			e.Text += "; give --decimal-comma where that is a decimal comma"
		}
		*err = e
	}
	return v
}

// fail places an error at a cell of the line read last.
func (im *Importer) fail(column int, format string, args ...any) *ImportError {
	return &ImportError{File: im.name, Line: im.line, Column: im.at[column], Text: fmt.Sprintf(format, args...)}
}
