// Package export carries a job to other programs and traces from them:
// record.csv, the vehicle's-file export, and an importer of CSV files whatever
// program has written them.
package export

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/gocarina/gocsv"

	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A recordRow is one line of record.csv. Every cell is text, ready as it is written:
// the columns and their order are the file's format.
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
	Pass          string `csv:"pass"`
}

// WriteRecord rewrites record.csv, the vehicle's-file export, in the job folder
// dir from what stands in the journal, and returns its path. Readers find the
// old file or the new one.
func WriteRecord(dir string, s sheet.Sheet, cs []record.Capture) (string, error) {
	path := filepath.Join(dir, "record.csv")
	return path, journal.ReplaceFile(path, func(w io.Writer) error { return WriteRecordCSV(w, s, cs) })
}

// WriteRecordCSV writes the standing captures as record.csv: RFC 4180, one row
// a capture in the order they were made, without what work on the axle has put
// out of date, and after the points of a run-out a row with position 0 that has
// its full indicator movement, which is what the window is for; behind them what
// was repeated and what is not measured. Cells that a spreadsheet would run are
// neutralised.
func WriteRecordCSV(w io.Writer, s sheet.Sheet, cs []record.Capture) error {
	rows := []recordRow{} // an empty record has its header too
	var behind []recordRow
	type basis struct {
		judge feature.Judge
		work  int // the last on the axle
	}
	known := make(map[[2]string]basis) // by stage and feature
	for _, c := range record.Active(cs) {
		c, _ = s.Convert(c)
		key := [2]string{c.Stage, c.Feature}
		by, ok := known[key]
		if !ok {
			work, _ := record.StaleSince(cs, c.Stage, c.Feature)
			by = basis{feature.NewJudge(s.InStage(c.Stage), c.Feature), work.ID}
			known[key] = by
			behind = append(behind, movementRow(s, cs, c)...)
		}
		if c.ID < by.work {
			continue
		}
		limits, word := by.judge.Spec.Limits, ""
		verdict, why, judged := by.judge.Decide(c)
		if judged {
			word = verdict.String()
		} else {
			limits = sheet.OpenSpec("").Limits
		}
		rows = append(rows, newRow(s, c, limits, word, why))
	}
	out := csv.NewWriter(w)
	out.UseCRLF = true
	rows = slices.Concat(rows, behind, factRows(s, cs))
	if err := gocsv.MarshalCSV(rows, out); err != nil {
		return fmt.Errorf("write record: %w", err)
	}
	return nil
}

// newRow is a line of record.csv, each cell as it is written, the value to what its
// uncertainty carries; as it was read it stands in captures.csv. why says what
// keeps a value from being decided, and stands in front of its note.
func newRow(s sheet.Sheet, c record.Capture, l gum.Limits, verdict, why string) recordRow {
	text := journal.GuardText
	number := func(v float64) string {
		s := string(journal.AppendNumber(nil, v))
		// Where the comma is the decimal sign, a spreadsheet takes a point with three
		// digits behind it for thousands: 0.152 becomes 152.
		if whole, decimals, ok := strings.Cut(s, "."); ok && len(decimals) == 3 {
			return whole + "." + decimals + "0"
		}
		return s
	}
	limit := func(v float64) string { return number(units.RoundTo(v, 1e-6)) }
	note, rocks, pass := recordNote(c), "", ""
	if c.Pass.N > 0 {
		pass = fmt.Sprintf("%d of %d", c.Pass.N, c.Pass.Of)
		if c.Pass.Degrees > 0 {
			pass += fmt.Sprintf(", then %g°", c.Pass.Degrees)
		}
	}
	if why != "" && l.Any() && !math.IsNaN(c.Value) {
		note = record.Fronted(why, ": ", note)
	}
	if c.N > 0 {
		rocks = strconv.Itoa(c.N)
	}
	vehicle := s.Vehicle.Label
	if s.Invented {
		vehicle += " (invented data)" // in every row: rows are copied without their file
	}
	return recordRow{
		text(vehicle), text(s.Vehicle.Job), text(c.Stage), text(c.Feature),
		strconv.Itoa(c.Position), number(c.AngleDeg), number(gum.Rounded(c.Value, gum.Coverage*c.U)), text(c.Unit), limit(l.Lower), limit(l.Upper),
		number(gum.RoundedU(gum.Coverage * c.U)), verdict, rocks, number(gum.RoundedU(c.Repeatability)),
		string(journal.AppendTime(nil, c.Time)), text(c.Gauge), text(note), pass,
	}
}

// factRows say what no value stands for: what failed and was repeated, what the
// job cannot be closed without and is not measured, and what its sheet does not
// ask for. Their feature is none.
func factRows(s sheet.Sheet, cs []record.Capture) []recordRow {
	var rows []recordRow
	fact := func(kind, stage, text string, position int, at time.Time) {
		c := record.Blank(stage, kind, at)
		c.Position, c.Note = position, text
		rows = append(rows, newRow(s, c, sheet.OpenSpec("").Limits, "", ""))
	}
	for _, r := range job.Repeats(s, cs) {
		fact("repeated", r.Stage, record.Title(r.Feature)+", "+r.Text, r.Position, r.Time)
	}
	undone := slices.DeleteFunc(job.HoldPoints(s, cs), func(h job.HoldPoint) bool { return !h.NotDone() })
	for i, titles := range [][]string{job.Titles(job.Lacking(s, cs), job.Step.At), job.Titles(undone, job.HoldPoint.At), job.Unasked(s)} {
		if len(cs) > 0 && len(titles) > 0 {
			fact([]string{"not-measured", "not-done", "not-asked-for"}[i], job.Job{Sheet: s, Captures: cs}.At(), strings.Join(titles, ", "), 0, record.LastTime(cs))
		}
	}
	return rows
}

// recordNote puts a quality that is not plainly good in front of the note.
func recordNote(c record.Capture) string {
	if c.Feature == record.FeatureOverride {
		return "SKIPPED " + c.NoteText()
	}
	if c.Quality == record.QualityOK || c.Quality == "" {
		return c.NoteText()
	}
	return record.Fronted(c.Quality, ": ", c.NoteText())
}

// movementRow is the full indicator movement of a run-out measured by points that c
// is one of, with its verdict; nothing of another feature.
func movementRow(s sheet.Sheet, cs []record.Capture, c record.Capture) []recordRow {
	a := feature.Assess(s, cs, c.Stage, c.Feature)
	if a.Runout == nil || len(a.Results) < feature.LeastPlaces {
		return nil
	}
	sum := record.Blank(c.Stage, c.Feature, record.LastTime(record.Valid(cs, c.Stage, c.Feature)))
	sum.Value, sum.Unit, sum.Gauge, sum.U = a.Value, c.Unit, c.Gauge, a.U
	sum.Note = fmt.Sprintf("full indicator movement over %d points", len(a.Results))
	why := ""
	if a.Verdict == gum.NotDecided {
		why = a.Reason()
	}
	return []recordRow{newRow(s, sum, a.Spec.Limits, a.Verdict.String(), why)}
}
