package export

import (
	"bytes"
	"encoding/csv"
	"flag"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

var update = flag.Bool("update", false, "rewrite the golden files")

var recordTime = time.Date(2026, 3, 4, 9, 30, 0, 123456789, time.UTC)

// golden compares got with a file in testdata.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, got, 0o644))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "see %s; -update rewrites it", path)
}

// A captureList is a store in memory.
type captureList []record.Capture

func (l *captureList) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(*l) + 1
	*l = append(*l, c)
	return c, nil
}

func (l *captureList) Captures() []record.Capture { return *l }

// rocked is a backlash as it was found at a position.
func rocked(position int, value float64) record.Capture {
	return record.Capture{
		Time: recordTime.Add(time.Duration(position) * time.Minute), Stage: record.StageAsFound, Feature: record.FeatureBacklash,
		Position: position, AngleDeg: 45 * float64(position-1), Value: value, Unit: "mm", U: 0.0015, N: 3,
		Low: -0.012, High: value - 0.012, Quality: record.QualityOK, Gauge: "indicator", Repeatability: 0.001,
		Convention: setup.Normal, RadiusMM: 106,
	}
}

// recordCaptures is a small job: backlash with an undone point, a run-out, a
// bolt in two passes, an override and notes that try to be formulas.
func recordCaptures(t *testing.T) []record.Capture {
	t.Helper()
	var list captureList
	add := func(c record.Capture) record.Capture {
		stored, err := list.Append(c)
		require.NoError(t, err)
		return stored
	}
	for i := 1; i <= 8; i++ {
		add(rocked(i, units.RoundTo(0.165+0.012*math.Cos(2*math.Pi*float64(i-1)/8), 1e-6)))
	}
	wrong := rocked(3, 0.31)
	wrong.Supersedes = 3
	wrong = add(wrong)
	undone := wrong
	undone.Supersedes, undone.Quality = wrong.ID, record.QualityRejected
	add(undone)
	for pass, percent := range []int{60, 100} {
		c := rocked(1, 58.7+40*float64(pass))
		c.Stage, c.Feature, c.Unit, c.U, c.Pass = record.StageBench, record.FeatureWheelBolts, "N·m", 2.3, record.Pass{N: pass + 1, Of: 2, Percent: percent}
		add(c)
	}
	for i := 1; i <= 8; i++ {
		c := rocked(i, 0.03*math.Sin(2*math.Pi*float64(i)/8))
		c.Stage, c.Feature, c.Low, c.High, c.Repeatability = record.StageBench, record.FeatureRunoutBackFace, math.NaN(), math.NaN(), math.NaN()
		c.Value = units.RoundTo(c.Value, 1e-6)
		add(c)
	}
	_, err := record.AddOverride(&list, record.StageSetUp, "back-face", `=HYPERLINK("x"), the owner's wish`, recordTime)
	require.NoError(t, err)
	_, err = record.AddNote(&list, record.StageFinal, "@sealant, batch 12\nwiped", recordTime)
	require.NoError(t, err)
	return list
}

func TestRecordGolden(t *testing.T) {
	sheet := sheet.Example()
	sheet.Vehicle.Label = "-2+3, \"my\" wagon"
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, sheet, recordCaptures(t)))
	golden(t, "record.csv", b.Bytes())

	rows, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"vehicle", "job", "stage", "feature", "position", "angle_deg", "value", "unit", "lower", "upper",
		"expanded_uncertainty", "verdict", "rocks", "repeatability", "time", "gauge", "note", "pass"}, rows[0])
	for _, row := range rows[1:] {
		require.Len(t, row, 18)
		for _, cell := range row {
			assert.NotRegexp(t, `^-?\d+\.\d{3}$`, cell, "a decimal comma makes thousands of it")
			assert.False(t, cell != "" && bytes.ContainsAny([]byte(cell[:1]), "=+@\t\r"), "cell %q would run", cell)
		}
	}
}

func TestRecordEmptyJob(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, sheet.Example(), nil))
	assert.Equal(t, "vehicle,job,stage,feature,position,angle_deg,value,unit,lower,upper,expanded_uncertainty,verdict,rocks,repeatability,time,gauge,note,pass\r\n", b.String())
}

// A fullDisk takes so many bytes.
type fullDisk struct{ room int }

func (d *fullDisk) Write(p []byte) (int, error) {
	if d.room -= len(p); d.room < 0 {
		return 0, journal.ErrDiskFull
	}
	return len(p), nil
}

func TestRecordTellsWhatCannotBeWritten(t *testing.T) {
	for _, room := range []int{0, 10_000} {
		err := WriteRecordCSV(&fullDisk{room}, sheet.Example(), slices.Repeat([]record.Capture{rocked(1, 0.17)}, 200))
		require.ErrorIs(t, err, journal.ErrDiskFull)
	}
}

func TestWriteRecordReplaces(t *testing.T) {
	dir := t.TempDir()
	path, err := WriteRecord(dir, sheet.Example(), nil)
	require.NoError(t, err)
	assert.Equal(t, filepath.Join(dir, "record.csv"), path)
	first, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = WriteRecord(dir, sheet.Example(), []record.Capture{rocked(1, 0.17)})
	require.NoError(t, err)
	second, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Greater(t, len(second), len(first))
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	assert.Len(t, entries, 1, "no temporary file is left")

	_, err = WriteRecord(filepath.Join(dir, "nowhere"), sheet.Example(), nil)
	var failed *journal.StoreError
	require.ErrorAs(t, err, &failed)
}

// BenchmarkRecord writes the record of up to a million captures, so that linear
// can be seen.
func BenchmarkRecord(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		var list captureList
		for i := range n {
			_, _ = list.Append(rocked(i%8+1, 0.17)) // cannot fail
		}
		b.Run(strconv.Itoa(n), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				require.NoError(b, WriteRecordCSV(discard{}, sheet.Example(), list))
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/capture")
		})
	}
}

// discard is a writer that a CSV writer cannot tell from a file.
type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

func TestRecordLeavesOutWhatAMoveMadeUntrue(t *testing.T) {
	var store captureList
	for _, stage := range []string{record.StageAsFound, record.StageFinal} {
		for i := 1; i <= 8; i++ {
			c := rocked(i, 0.16)
			c.Stage = stage
			_, err := store.Append(c)
			require.NoError(t, err)
		}
	}
	_, err := record.AddMove(&store, record.StageFinal, record.Move{Amount: 1, Unit: "notch"}, recordTime)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, sheet.Example(), store))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	var got []string
	for _, row := range rows[1:] {
		got = append(got, row[2]+" "+row[3])
	}
	assert.Len(t, got, 10)
	assert.Equal(t, "final not-measured", got[9])
	assert.NotContains(t, got, "final backlash")
	assert.Contains(t, got, "final move")
}

// rowOf is record.csv of one capture, taken apart, without its header.
func rowOf(t *testing.T, s sheet.Sheet, c record.Capture) []string {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, s, []record.Capture{c}))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 3, "behind it what is not measured")
	return rows[1]
}

// TestRecordOfBacklashInOtherTerms: 0.165 is inside 0.13 to 0.20, and outside
// what that window is for a plunger square to the tooth (0.102 to 0.158) if the
// manual means transverse backlash; 0.145 is inside either.
func TestRecordOfBacklashInOtherTerms(t *testing.T) {
	s := sheet.Example()
	s.Plunger.Spec = "unknown"
	row := rowOf(t, s, rocked(1, 0.165))
	assert.Equal(t, "too close to call", row[11])
	assert.Contains(t, row[16], "normal or transverse backlash decides it")
	assert.Equal(t, "inside", rowOf(t, s, rocked(1, 0.145))[11])

	s = sheet.Example()
	s.Plunger.ContactRadius, s.Plunger.HeelRadius = 0, 0
	row = rowOf(t, s, rocked(1, 0.165))
	assert.Equal(t, gum.NotDecided.String(), row[11])
	assert.Contains(t, row[16], "cannot be converted")
}

// TestRecordOfWhatProvesNothing: inside the window as read, by a tool of which
// nothing is known.
func TestRecordOfWhatProvesNothing(t *testing.T) {
	c := record.Blank(record.StageFinal, record.FeaturePreloadTotal, recordTime)
	c.Value, c.Unit, c.Quality = 1.8, "N·m", record.QualityKeyed
	row := rowOf(t, sheet.Example(), c)
	assert.Equal(t, "not decided", row[11])
	assert.Equal(t, "as read inside, uncertainty unknown: keyed", row[16])
}
