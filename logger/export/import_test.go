package export

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

var importTime = time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC)

// readingsText is a readings file of a job folder that holds the events.
func readingsText(t *testing.T, events ...device.Event) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "job")
	require.NoError(t, journal.Create(dir, nil))
	folder, err := journal.Open(dir, func(string, []byte) error { return nil })
	require.NoError(t, err)
	w, err := folder.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(t, err)
	for _, ev := range events {
		require.NoError(t, w.Record(ev))
	}
	require.NoError(t, errors.Join(w.Close(), folder.Close()))
	text, err := os.ReadFile(w.Path())
	require.NoError(t, err)
	return string(text)
}

func importAll(name, text string, m Mapping) ([]Row, error) {
	im, err := NewImporter(name, strings.NewReader(text), m)
	if err != nil {
		return nil, err
	}
	var rows []Row
	for row, err := range im.Rows() {
		if err != nil {
			return nil, err
		}
		rows = append(rows, row)
	}
	return rows, nil
}

func TestImport(t *testing.T) {
	nan := math.NaN()
	tests := []struct {
		name, text string
		m          Mapping
		want       []Row
	}{
		{"value alone", "value\n0.1\n0.2\n", Mapping{}, []Row{{2, 0, 0.1, "", nan, nan}, {3, 0, 0.2, "", nan, nan}}},
		{"interval", "value\n1\n2\n", Mapping{Interval: 0.5, DefaultUnit: "in"}, []Row{{2, 0, 1, "in", nan, nan}, {3, 0.5, 2, "in", nan, nan}}},
		{"seconds as they are", "time,value,unit\n3.5,1,mm\n3.75,2,mm\n", Mapping{}, []Row{{2, 3.5, 1, "mm", nan, nan}, {3, 3.75, 2, "mm", nan, nan}}},
		{"dates from the first", "time,value\n2026-01-01T10:00:00Z,1\n2026-01-01T11:00:00.25+01:00,2\n", Mapping{}, []Row{{2, 0, 1, "", nan, nan}, {3, 0.25, 2, "", nan, nan}}},
		{"byte order mark, CRLF, capitals", "\uFEFFTime,Value\r\n0,1\r\n1,2\r\n", Mapping{}, []Row{{2, 0, 1, "", nan, nan}, {3, 1, 2, "", nan, nan}}},
		{"semicolons and decimal comma", "time;value\n0,5;1,25\n0,6;-1,5e-3\n", Mapping{}, []Row{{2, 0.5, 1.25, "", nan, nan}, {3, 0.6, -0.0015, "", nan, nan}}},
		{"semicolons and points", "time;value\n0.5;1.25\n", Mapping{}, []Row{{2, 0.5, 1.25, "", nan, nan}}},
		{"tabs", "time\tvalue\n0,5\t1,25\n", Mapping{}, []Row{{2, 0.5, 1.25, "", nan, nan}}},
		{"said separator", "sep=;\nvalue;unit\n1,5;mm\n", Mapping{}, []Row{{3, 0, 1.5, "mm", nan, nan}}},
		{"quoted decimal comma", "value\n\"1,25\"\n", Mapping{DecimalComma: true}, []Row{{2, 0, 1.25, "", nan, nan}}},
		{"other names", "t,reading,note\n1,2,x\n", Mapping{Time: "t", Value: "reading"}, []Row{{2, 1, 2, "", nan, nan}}},
		{"angle and temperature", "angle_deg,value,temperature_c\n45,0.1,21.5\n", Mapping{}, []Row{{2, 0, 0.1, "", 45, 21.5}}},
		{"no line end at the end", "value\n1", Mapping{}, []Row{{2, 0, 1, "", nan, nan}}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rows, err := importAll("x.csv", tt.text, tt.m)
			require.NoError(t, err)
			assert.Equal(t, fmt.Sprint(tt.want), fmt.Sprint(rows)) // NaN equals NaN in print
		})
	}
}

// A cell reads the same with and without quotes, which are looked for only in a line
// that has some.
func TestQuotesChangeNothing(t *testing.T) {
	plain := "time,value,unit,note\n0.5,-1.25,mm,\n1, 2e-3 ,in,a b\n2,+3.,,\n"
	want, err := importAll("x.csv", plain, Mapping{})
	require.NoError(t, err)
	require.Len(t, want, 3)
	mixed := "time,value,unit,note\n0.5,\"-1.25\",mm,\n1, \"2e-3\" ,in,a b\n\"2\",+3.,\"\",\n"
	all := "\"time\",\"value\",\"unit\",\"note\"\n\"0.5\",\"-1.25\",\"mm\",\"\"\n\"1\",\" 2e-3 \",\"in\",\"a, b\"\n\"2\",\"+3.\",\"\",\"\"\"\"\n"
	for _, text := range []string{mixed, all} {
		got, err := importAll("x.csv", text, Mapping{})
		require.NoError(t, err)
		assert.Equal(t, fmt.Sprint(want), fmt.Sprint(got))
	}
}

func TestImportErrors(t *testing.T) {
	tests := []struct {
		name, text string
		m          Mapping
		want       string
	}{
		{"empty", "", Mapping{}, "x.csv: the file is empty"},
		{"blank", "\n\n", Mapping{}, "x.csv: the file is empty"},
		{"header alone", "time,value\n", Mapping{}, "x.csv: there is no reading after the header"},
		{"no value column", "time,reading\n0,1\n", Mapping{}, `x.csv:1:1: no column "value"; the columns are time, reading`},
		{"mapped column missing", "time,value\n0,1\n", Mapping{Time: "t"}, `x.csv:1:1: no column "t"; the columns are time, value`},
		{"column twice", "value,time,Value\n0,1,2\n", Mapping{}, `x.csv:1:12: column "value" is there twice`},
		{"not a number", "time,value\n0,1\n1,NaN\n", Mapping{}, `x.csv:3:3: value "NaN" is not a finite number`},
		{"infinite", "time,value\n0,Inf\n", Mapping{}, `x.csv:2:3: value "Inf" is not a finite number`},
		{"too large", "value\n1e999\n", Mapping{}, `x.csv:2:1: value "1e999" is not a finite number`},
		{"hexadecimal", "value\n0x10\n", Mapping{}, `x.csv:2:1: value "0x10" is not a finite number`},
		{"empty value", "time,value\n0,\n", Mapping{}, `x.csv:2:3: value is empty`},
		{"with a unit", "value\n0.17 mm\n", Mapping{}, `x.csv:2:1: value "0.17 mm" is not a finite number`},
		{"thousands", "value;unit\n1.234,5;mm\n", Mapping{}, `x.csv:2:1: value "1.234,5" is not a finite number`},
		{"quoted comma unasked", "time,value\n0,\"1,25\"\n", Mapping{}, `x.csv:2:3: value "1,25" is not a finite number`},
		{"ragged", "time,value\n0,1\n1,2,3\n", Mapping{}, `x.csv:3:1: this row has not the 2 columns of the header`},
		{"decimal comma in a comma file", "value\n0,17\n", Mapping{}, `a decimal comma need semicolons`},
		{"torn quote", "value\n\"1\n", Mapping{}, `x.csv:2:`},
		{"time goes back", "time,value\n1,1\n0.5,2\n", Mapping{}, `x.csv:3:1: time "0.5" goes back`},
		{"time of two kinds", "time,value\n1,1\n2026-01-01T10:00:00Z,2\n", Mapping{}, `x.csv:3:1: time "2026-01-01T10:00:00Z" is not of the kind that the rows before have: seconds, or dates`},
		{"no time", "time,value\nnoon,1\n", Mapping{}, `x.csv:2:1: time "noon" is neither seconds nor an RFC 3339 date`},
		{"CR alone", "time,value\r0,1\r1,2\r", Mapping{}, "x.csv: the line ends are CR alone: save it with LF or CR LF"},
		{"long unit", "value,unit\n1," + strings.Repeat("m", 5000) + "\n", Mapping{}, `mmm…" is no unit`},
		{"UTF-16", "\xff\xfev\x00", Mapping{}, "x.csv: the text is UTF-16: save it as CSV UTF-8"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			rows, err := importAll("x.csv", tt.text, tt.m)
			require.ErrorContains(t, err, tt.want)
			assert.Nil(t, rows)
			var ie *ImportError
			assert.ErrorAs(t, err, &ie)
			assert.Less(t, len(err.Error()), 200)
		})
	}
}

func TestImportReadingsFile(t *testing.T) {
	var events []device.Event
	for i := range 3 {
		at := importTime.Add(time.Duration(i) * 100 * time.Millisecond)
		events = append(events, device.Event{Kind: device.EventReading, Time: at, Gauge: "g",
			Reading: device.Reading{Time: at, Gauge: "g", Raw: "x", Value: float64(i), Unit: "in"}},
			device.Event{Kind: device.EventGarbled, Time: at, Gauge: "g", Text: "??"})
	}
	data := []byte(readingsText(t, events...))
	rows, err := importAll("r.csv", string(data), Mapping{})
	require.NoError(t, err)
	require.Len(t, rows, 3)
	assert.InDelta(t, 0.2, rows[2].T, 1e-9)
	assert.Equal(t, "in", rows[2].Unit)
	data[bytes.IndexByte(data, '\n')+40] ^= 1
	_, err = importAll("r.csv", string(data), Mapping{})
	var damage *journal.DamageError
	require.ErrorAs(t, err, &damage)
	assert.Equal(t, 2, damage.Line)
}

// TestImportSaysWhatWouldHelp: a file is not read on a guess.
func TestImportSaysWhatWouldHelp(t *testing.T) {
	for _, tt := range []struct {
		name, text string
		m          Mapping
		want       string
	}{
		{"another name for the time", "Time [s],value\n0,1\n", Mapping{}, "--time-column"},
		{"no time at all", "value\n1\n", Mapping{}, "--interval"},
		{"an interval", "value\n1\n", Mapping{Interval: 0.1}, ""},
		{"times", "time,value\n0,1\n", Mapping{}, ""},
		{"another name for the value", "time,reading\n0,1\n", Mapping{}, "--value-column"},
		{"a named value that is not there", "time,reading\n0,1\n", Mapping{Value: "x"}, "the columns are time, reading"},
		{"a quoted decimal comma", "time,value\n0,\"1,5\"\n", Mapping{}, "--decimal-comma"},
		{"no number", "time,value\n0,x\n", Mapping{}, "is not a finite number"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			im, err := NewImporter("x.csv", strings.NewReader(tt.text), tt.m)
			if err == nil {
				err = im.NeedTime()
			}
			if err == nil {
				_, err = importAll("x.csv", tt.text, tt.m)
			}
			if tt.want == "" {
				assert.NoError(t, err)
			} else {
				assert.ErrorContains(t, err, tt.want)
			}
		})
	}
}

// TestImportOfResavedReadings: an editor or a spreadsheet has been at them, so
// that the check values prove nothing.
func TestImportOfResavedReadings(t *testing.T) {
	at := importTime
	sound := readingsText(t, device.Event{Kind: device.EventReading, Time: at, Gauge: "g",
		Reading: device.Reading{Time: at, Gauge: "g", Raw: "x", Value: 1, Unit: "mm"}})
	rows, err := importAll("r.csv", sound, Mapping{})
	require.NoError(t, err)
	require.Len(t, rows, 1)
	for name, text := range map[string]string{
		"LF ends":         strings.ReplaceAll(sound, "\r\n", "\n"),
		"CR ends":         strings.ReplaceAll(sound, "\r\n", "\r"),
		"byte order mark": "\uFEFF" + sound,
		"mark and LF":     "\uFEFF" + strings.ReplaceAll(sound, "\r\n", "\n"),
		"semicolons":      strings.ReplaceAll(sound, ",", ";"),
	} {
		t.Run(name, func(t *testing.T) {
			_, err := importAll("r.csv", text, Mapping{})
			var damage *journal.DamageError
			require.ErrorAs(t, err, &damage)
		})
	}
}

// TestImportOfReadingsNamesTheLine: gaps have lines of their own.
func TestImportOfReadingsNamesTheLine(t *testing.T) {
	var events []device.Event
	for i, s := range []float64{0, 1, 0.5} {
		at := importTime.Add(time.Duration(s * float64(time.Second)))
		if i == 1 {
			events = append(events, device.Event{Kind: device.EventSilent, Time: at, Gauge: "g"})
		}
		events = append(events, device.Event{Kind: device.EventReading, Time: at, Gauge: "g",
			Reading: device.Reading{Time: at, Value: 1, Unit: "mm"}})
	}
	rows, err := importAll("r.csv", readingsText(t, events...), Mapping{})
	assert.Nil(t, rows)
	require.ErrorContains(t, err, "r.csv:5:1: time ")
	assert.ErrorContains(t, err, "goes back: was the clock set back meanwhile?")
}

// TestImportOfTwoGauges: a thermometer goes with the pressure, a second gauge
// of the same kind does not make one trace.
func TestImportOfTwoGauges(t *testing.T) {
	var events []device.Event
	put := func(i int, gauge string, v float64, unit string) {
		at := importTime.Add(time.Duration(i) * time.Second)
		events = append(events, device.Event{Kind: device.EventReading, Time: at, Gauge: gauge,
			Reading: device.Reading{Time: at, Gauge: gauge, Value: v, Unit: unit}})
	}
	put(0, "air", 700, "kPa")
	put(1, "thermometer", 21.5, "°C")
	put(2, "air", 699, "kPa")
	rows, err := importAll("r.csv", readingsText(t, events...), Mapping{})
	require.NoError(t, err)
	require.Len(t, rows, 2)
	assert.True(t, math.IsNaN(rows[0].TemperatureC))
	assert.InDelta(t, 21.5, rows[1].TemperatureC, 1e-12)
	assert.Equal(t, 4, rows[1].Line)
	put(3, "other", 698, "kPa")
	_, err = importAll("r.csv", readingsText(t, events...), Mapping{})
	require.ErrorContains(t, err, `r.csv:5:1: readings of gauge "other" among those of gauge "air"`)
}

// An endless reader makes n rows without holding them.
type endless struct {
	n, i int
	rest []byte
}

func (e *endless) Read(p []byte) (int, error) {
	if len(e.rest) == 0 {
		switch {
		case e.i == 0:
			e.rest = []byte("time,value\n")
		case e.i > e.n:
			return 0, io.EOF
		default:
			e.rest = fmt.Appendf(e.rest, "%d.5,0.%d\n", e.i, e.i%1000)
		}
		e.i++
	}
	n := copy(p, e.rest)
	e.rest = e.rest[n:]
	return n, nil
}

func TestImportInConstantMemory(t *testing.T) {
	const n = 300_000
	im, err := NewImporter("long.csv", &endless{n: n}, Mapping{})
	require.NoError(t, err)
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	rows := 0
	for _, err := range im.Rows() {
		require.NoError(t, err)
		rows++
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	assert.Equal(t, n, rows)
	assert.Less(t, int64(after.HeapAlloc)-int64(before.HeapAlloc), int64(1<<20))
}

func FuzzImport(f *testing.F) {
	for _, s := range []string{"value\n1\n", "time;value\n0,5;1\n", "\uFEFFvalue", "sep=;\nvalue\n1", "value\n\"1\n", "time,gauge,raw,value,unit,flags,crc\r\n"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		rows, err := importAll("x.csv", text, Mapping{})
		if err != nil {
			assert.Nil(t, rows)
		}
		for _, r := range rows {
			assert.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0))
		}
	})
}

// BenchmarkImport reads time and value; the baseline is encoding/csv alone.
func BenchmarkImport(b *testing.B) {
	path := filepath.Join(b.TempDir(), "long.csv")
	file, err := os.Create(path)
	require.NoError(b, err)
	_, err = io.Copy(file, &endless{n: 1_000_000})
	require.NoError(b, err)
	require.NoError(b, file.Close())
	b.Run("importer", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			file, err := os.Open(path)
			require.NoError(b, err)
			im, err := NewImporter(path, file, Mapping{})
			require.NoError(b, err)
			for _, err := range im.Rows() {
				require.NoError(b, err)
			}
			require.NoError(b, file.Close())
		}
	})
	b.Run("baseline-encoding-csv", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			file, err := os.Open(path)
			require.NoError(b, err)
			require.NoError(b, readPlainCSV(file))
			require.NoError(b, file.Close())
		}
	})
}

func readPlainCSV(r io.Reader) error {
	c := csv.NewReader(r)
	c.ReuseRecord = true
	if _, err := c.Read(); err != nil {
		return err
	}
	for {
		record, err := c.Read()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		for _, cell := range record {
			if _, err := strconv.ParseFloat(cell, 64); err != nil {
				return err
			}
		}
	}
}

// repeating gives the same bytes for ever and counts how many were taken.
type repeating struct {
	text  string
	taken int
}

func (e *repeating) Read(p []byte) (int, error) {
	for i := range p {
		p[i] = e.text[(e.taken+i)%len(e.text)]
	}
	e.taken += len(p)
	return len(p), nil
}

// TestRowsWithoutAnEnd: a device, a file without line ends and a quote that is never
// closed are refused in one line, before they fill the memory.
func TestRowsWithoutAnEnd(t *testing.T) {
	for name, tc := range map[string]struct{ head, rest, want string }{
		"zeros": {"", "\x00", "longer than 1 MiB"}, "one line": {"time,value\n1,", "2", "longer than 1 MiB"},
		"open quote": {"time,value\n1,\"", "2,3\n4,", "in.csv:2:3: quotes do not match"}, "open quote in the header": {"\"", "time\n", "in.csv:1:1: quotes do not match"},
	} {
		t.Run(name, func(t *testing.T) {
			e := &repeating{text: tc.rest}
			im, err := NewImporter("in.csv", io.MultiReader(strings.NewReader(tc.head), e), Mapping{})
			if err == nil {
				for _, err = range im.Rows() {
				}
			}
			assert.ErrorContains(t, err, tc.want)
			assert.NotContains(t, err.Error(), "\n")
			assert.Less(t, e.taken, 3<<20)
		})
	}
}
