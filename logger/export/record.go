package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"path/filepath"
	"strconv"
	"time"

	"github.com/gocarina/gocsv"

	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
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
func WriteRecord(dir string, s sheet.Sheet, cs []record.Capture) (string, error) {
	path := filepath.Join(dir, recordFile)
	err := journal.ReplaceFile(path, func(w io.Writer) error { return WriteRecordCSV(w, s, cs) })
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
func WriteRecordCSV(w io.Writer, s sheet.Sheet, cs []record.Capture) error {
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
	judges := make(map[string]feature.Judge)
	moved := make(map[string]int)
	for _, c := range record.Active(cs) {
		c, _ = s.Convert(c)
		if record.MovedByAdjuster(c.Feature) {
			last, ok := moved[c.Stage]
			if !ok {
				last = record.LastMove(cs, c.Stage)
				moved[c.Stage] = last
			}
			if c.ID < last {
				continue
			}
		}
		by, ok := judges[c.Feature]
		if !ok {
			by = feature.NewJudge(s, c.Feature)
			judges[c.Feature] = by
		}
		rows = append(rows, captureRow(s, c, by))
		if len(rows) == recordChunk {
			if err := flush(); err != nil {
				return err
			}
		}
	}
	rows = append(rows, runoutRows(s, cs)...)
	return flush()
}

// captureRow is a capture with its verdict. What is not judged by itself has no
// limits and no verdict.
func captureRow(s sheet.Sheet, c record.Capture, by feature.Judge) recordRow {
	row := recordRow{
		Vehicle: journal.GuardText(recordVehicle(s)), Job: journal.GuardText(s.Vehicle.Job),
		Stage: journal.GuardText(c.Stage), Feature: journal.GuardText(c.Feature),
		Position: strconv.Itoa(c.Position), AngleDeg: numberText(c.AngleDeg),
		Value: numberText(c.Value), Unit: journal.GuardText(c.Unit),
		Expanded: numberText(units.RoundTo(gum.Coverage*c.U, 1e-6)), Repeatability: numberText(c.Repeatability),
		Time: string(journal.AppendTime(nil, c.Time)), Gauge: journal.GuardText(c.Gauge), Note: journal.GuardText(recordNote(c)),
	}
	if c.N > 0 {
		row.Rocks = strconv.Itoa(c.N)
	}
	verdict, why, judged := by.Decide(c)
	if !judged {
		return row
	}
	row.decide(by.Spec.Limits, verdict, why)
	return row
}

// decide fills in the window, the verdict and what keeps it from being decided.
func (row *recordRow) decide(l gum.Limits, v gum.Verdict, why string) {
	row.Lower, row.Upper = numberText(units.RoundTo(l.Lower, 1e-6)), numberText(units.RoundTo(l.Upper, 1e-6))
	row.Verdict = v.String()
	if why != "" && l.Any() && row.Value != "" {
		row.Note = journal.GuardText(joined(why, journal.UnguardText(row.Note)))
	}
}

// recordVehicle is whose file it is. Every row of an invented job says so, for
// rows are copied without their file.
func recordVehicle(s sheet.Sheet) string {
	if s.Invented {
		return s.Vehicle.Label + " (invented data)"
	}
	return s.Vehicle.Label
}

// recordNote puts a quality that is not plainly good in front of the note.
func recordNote(c record.Capture) string {
	if c.Quality == record.QualityOK || c.Quality == "" {
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
// points, with its verdict.
func runoutRows(s sheet.Sheet, cs []record.Capture) []recordRow {
	type key struct{ stage, feature string }
	var rows []recordRow
	seen := make(map[key]bool)
	for _, c := range cs {
		k := key{c.Stage, c.Feature}
		if !record.IsMeasured(c.Feature) || seen[k] {
			continue
		}
		seen[k] = true
		a := feature.Assess(s, cs, c.Stage, c.Feature)
		if a.Runout == nil || len(a.Results) < feature.LeastPlaces {
			continue
		}
		sum := record.Blank(c.Stage, c.Feature, lastTime(cs, c.Stage, c.Feature))
		sum.Value, sum.Unit, sum.Gauge, sum.U = units.RoundTo(a.Value, 1e-6), c.Unit, c.Gauge, a.U
		sum.Note = fmt.Sprintf("full indicator movement over %d points", len(a.Results))
		row := captureRow(s, sum, feature.NewJudge(s, c.Feature))
		row.Note = journal.GuardText(sum.Note)
		why := ""
		if a.Verdict == gum.NotDecided {
			why = a.Reason()
		}
		row.decide(a.Spec.Limits, a.Verdict, why)
		rows = append(rows, row)
	}
	return rows
}

// lastTime is when the latest standing capture of a feature was made.
func lastTime(cs []record.Capture, stage, name string) (t time.Time) {
	for _, c := range record.Valid(cs, stage, name) {
		if c.Time.After(t) {
			t = c.Time
		}
	}
	return t
}

func numberText(v float64) string { return string(journal.AppendNumber(nil, v)) }
