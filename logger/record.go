package logger

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"crownlog/analysis"

	"github.com/gocarina/gocsv"
)

// A recordRow is one line of record.csv. Every cell is text, ready as it is
// written: the columns and their order are the file's format.
type recordRow struct {
	Vehicle       string `csv:"vehicle"`
	Job           string `csv:"job"`
	Stage         string `csv:"stage"`
	Feature       string `csv:"feature"`
	Position      string `csv:"position"`
	AngleDeg      string `csv:"angle_deg"`
	Value         string `csv:"value"`
	Unit          string `csv:"unit"`
	Lower         string `csv:"lower"`
	Upper         string `csv:"upper"`
	Expanded      string `csv:"expanded_uncertainty"`
	Verdict       string `csv:"verdict"`
	Rocks         string `csv:"rocks"`
	Repeatability string `csv:"repeatability"`
	Time          string `csv:"time"`
	Gauge         string `csv:"gauge"`
	Note          string `csv:"note"`
}

// recordChunk is how many rows are handed to the CSV writer at a time, so that
// the whole record is never in memory twice.
const recordChunk = 1024

// recordFile is the name of the export in a job folder.
const recordFile = "record.csv"

// WriteRecord rewrites record.csv, the vehicle's-file export, in the job folder
// dir from what stands in the journal, and returns its path. Readers find the
// old file or the new one.
func WriteRecord(dir string, s Sheet, cs []Capture) (string, error) {
	path := filepath.Join(dir, recordFile)
	err := ReplaceFile(path, func(w io.Writer) error { return WriteRecordCSV(w, s, cs) })
	if err != nil {
		return "", err
	}
	return path, nil
}

// WriteRecordCSV writes the standing captures as record.csv: RFC 4180, one row
// a capture in the order they were made, without what an adjuster move has put
// out of date, and after the points of a run-out a
// row with position 0 that has its full indicator movement, which is what the
// window is for. Cells that a spreadsheet would run are neutralised.
func WriteRecordCSV(w io.Writer, s Sheet, cs []Capture) error {
	out := csv.NewWriter(w)
	out.UseCRLF = true
	rows := make([]recordRow, 0, recordChunk)
	write := gocsv.MarshalCSV
	flush := func() error {
		if err := write(rows, out); err != nil {
			return fmt.Errorf("write record: %w", err)
		}
		rows, write = rows[:0], gocsv.MarshalCSVWithoutHeaders
		return nil
	}
	windows := make(map[string]analysis.RoundSpec)
	moved := make(map[string]int)
	for _, c := range Live(cs) {
		c, _ = s.inTermsOf(c)
		if movedByAdjuster(c.Feature) {
			last, ok := moved[c.Stage]
			if !ok {
				last = lastMove(cs, c.Stage)
				moved[c.Stage] = last
			}
			if c.ID < last {
				continue
			}
		}
		spec, ok := windows[c.Feature]
		if !ok {
			spec = s.Window(c.Feature)
			windows[c.Feature] = spec
		}
		rows = append(rows, captureRow(s, c, spec.Limits))
		if len(rows) == recordChunk {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	rows = append(rows, runoutRows(s, cs)...)
	return flush()
}

// captureRow judges one capture. A point of a run-out has no limits of its own.
func captureRow(s Sheet, c Capture, l analysis.Limits) recordRow {
	row := recordRow{
		Vehicle: guardText(recordVehicle(s)), Job: guardText(s.Vehicle.Job),
		Stage: guardText(c.Stage), Feature: guardText(c.Feature),
		Position: strconv.Itoa(c.Position), AngleDeg: numberText(c.AngleDeg),
		Value: numberText(c.Value), Unit: guardText(c.Unit),
		Expanded: numberText(roundTo(coverage*c.U, 1e-6)), Repeatability: numberText(c.Repeatability),
		Time: string(appendTime(nil, c.Time)), Gauge: guardText(c.Gauge), Note: guardText(recordNote(c)),
	}
	if c.N > 0 {
		row.Rocks = strconv.Itoa(c.N)
	}
	kind := kindOf(c.Feature)
	if kind == kindRunout && c.Position > 0 || kind == kindBolts && !c.Pass.Final() {
		return row
	}
	if why := s.OtherTerms([]Capture{c}); why != "" {
		row.Note = guardText(strings.TrimPrefix(recordNote(c)+"; "+why, "; "))
		return row
	}
	if TryFailed(c) {
		row.Verdict = string(analysis.Outside)
		return row
	}
	row.Lower, row.Upper = numberText(roundTo(l.Lower, 1e-6)), numberText(roundTo(l.Upper, 1e-6))
	if !math.IsNaN(c.Value) && hasLimit(l) {
		d := s.Judge(c.Feature, c.Value, c.U)
		row.Verdict = string(d.Verdict)
		if d.Verdict == analysis.NotDecided {
			row.Verdict = "not decided"
		}
		if d.Reason != "" {
			row.Note = guardText(joined(d.Reason, recordNote(c)))
		}
	}
	return row
}

// recordVehicle is whose file it is. Every row of an invented job says so, for
// rows are copied without their file.
func recordVehicle(s Sheet) string {
	if s.Invented {
		return s.Vehicle.Label + " (invented data)"
	}
	return s.Vehicle.Label
}

// recordNote puts a quality that is not plainly good in front of the note.
func recordNote(c Capture) string {
	if c.Quality == QualityOK || c.Quality == "" {
		return c.NoteText()
	}
	return joined(c.Quality, c.NoteText())
}

// joined puts a word in front of a note, if there is one.
func joined(word, note string) string {
	if note == "" {
		return word
	}
	return word + ": " + note
}

// runoutRows adds the full indicator movement of each run-out measured by
// points.
func runoutRows(s Sheet, cs []Capture) []recordRow {
	type key struct{ stage, feature string }
	var rows []recordRow
	seen := make(map[key]bool)
	for _, c := range cs {
		k := key{c.Stage, c.Feature}
		if kindOf(c.Feature) != kindRunout || seen[k] {
			continue
		}
		seen[k] = true
		points := Points(s, cs, c.Stage, c.Feature)
		if len(points) < 3 {
			continue
		}
		run, _ := RunoutOf(s, cs, c.Stage, c.Feature)
		sum := plainCapture(c.Stage, c.Feature, lastTime(cs, c.Stage, c.Feature))
		sum.Value, sum.Unit, sum.N, sum.Gauge = roundTo(run.FIM, 1e-6), c.Unit, 0, c.Gauge
		sum.U = run.FIMU
		sum.Note = fmt.Sprintf("full indicator movement over %d points", len(points))
		rows = append(rows, captureRow(s, sum, s.Window(c.Feature).Limits))
	}
	return rows
}

// lastTime is when the latest standing capture of a feature was made.
func lastTime(cs []Capture, stage, name string) (t time.Time) {
	for _, c := range Standing(cs, stage, name) {
		if c.Time.After(t) {
			t = c.Time
		}
	}
	return t
}

func numberText(v float64) string { return string(appendNumber(nil, v)) }

func hasLimit(l analysis.Limits) bool { return !math.IsNaN(l.Lower) || !math.IsNaN(l.Upper) }
