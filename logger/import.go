package logger

import "io"

// A Mapping names the columns of a CSV file from elsewhere; "" stands for the
// usual names (time, value, unit, angle_deg, temperature_c, gauge, raw).
type Mapping struct {
	Time, Value, Unit, AngleDeg, TemperatureC string
	DefaultUnit                               string  // of rows that name none
	Interval                                  float64 // seconds between rows of a file without time; 0: 0.1
	DecimalComma                              bool    // decimal comma in a comma-separated file with quotes
}

// A Row is one reading of an imported file.
type Row struct {
	Line         int
	T            float64 // seconds from the first row
	Value        float64 // as in the file, in Unit
	Unit         string
	AngleDeg     float64 // NaN: none
	TemperatureC float64 // NaN: none
}

// An Importer reads CSV from elsewhere in constant memory.
type Importer struct{}

// NewImporter reads the header of r; name stands for the file in errors.
func NewImporter(name string, r io.Reader, m Mapping) (*Importer, error) { return nil, errPending }

// HasTime, HasAngle and HasTemperature say which columns the file has.
func (i *Importer) HasTime() bool        { return false }
func (i *Importer) HasAngle() bool       { return false }
func (i *Importer) HasTemperature() bool { return false }

// Next returns the next row, io.EOF after the last.
func (i *Importer) Next() (Row, error) { return Row{}, errPending }

// An ImportError says what is wrong with a file, and where.
type ImportError struct {
	File         string
	Line, Column int
	Text         string
}

func (e *ImportError) Error() string { return e.Text }
