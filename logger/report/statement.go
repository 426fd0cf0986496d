package report

import (
	"fmt"
	"strings"
	"time"

	"rsc.io/qr"

	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// recordSection is what was skipped, notes and rejected readings.
func recordSection(d Data) section {
	rows := append(remarkRows(d.Remarks), remarkRows(d.Rejected)...)
	for _, r := range d.Repeats {
		rows = append(rows, []entry{plain(minute(r.Time)), plain(stageTitle(r.Stage)), plain("REPEATED: " + record.Title(r.Feature) + ", " + r.Text)})
	}
	if len(rows) == 0 {
		return section{}
	}
	return section{Title: "Skipped, repeated, noted and set aside", Rows: append([]row{{{Share: 1, Table: &table{
		Caption: "Readings not used stay on record.", Rows: rows,
		Columns: []column{{"Time (UTC)", false}, {"Stage", false}, {"What", false}},
	}, Lines: attachmentLines(d.Attachments)}}}, thirds(d.photos, nil)...)}
}

// attachmentLines says whether the attached files are what was attached.
func attachmentLines(as []record.CheckedAttachment) []string {
	if len(as) == 0 {
		return nil
	}
	var bad []string
	for _, a := range as {
		if a.Problem != "" {
			bad = append(bad, a.Path+": the attached file "+a.Problem+".")
		}
	}
	return append(bad, fmt.Sprintf("Attached files that agree with their SHA-256 of when they were attached: %d of %d.", len(as)-len(bad), len(as)))
}

func remarkRows(rs []Remark) [][]entry {
	var rows [][]entry
	for _, r := range rs {
		kind := given(r.Kind == record.FeatureOverride, "SKIPPED: ") + given(r.Kind == record.FeatureCheck, "Ticked: ") + given(r.Kind == record.QualityRejected, "Not used: ")
		rows = append(rows, []entry{plain(minute(r.Time)), plain(stageTitle(r.Stage)), plain(kind + r.Text)})
	}
	return rows
}

// gaugeSection states what the figures and their verdicts rest on.
func gaugeSection(d Data) section {
	s := section{Title: "Windows, gauges and uncertainty"}
	lines := append(windowLines(d.Sheet),
		"Verdicts by ISO 14253-1: inside where the window less the uncertainty holds the reading, outside beyond the window plus the uncertainty, else too close to call.",
		uncertaintyWords(d.Sheet),
		gaugeWords(d), plungerWords(d.Sheet),
	)
	for _, t := range d.Sheet.Tools {
		due, err := time.Parse(time.DateOnly, t.Due)
		lines = append(lines, strings.Join(dropEmpty(upperFirst(t.Name), given(t.Serial != "", "serial "+t.Serial), given(t.Certificate != "", "certificate "+t.Certificate),
			given(t.Due != "", "to be calibrated again "+t.Due), given(err == nil && d.Last.After(due.AddDate(0, 0, 1)), "OVERDUE when this job was last measured")), ", ")+".")
	}
	for _, f := range d.Findings {
		if f.Severity == sheet.Advice || strings.HasPrefix(f.Where, "attachments/") {
			continue
		}
		lines = append(lines, strings.TrimSuffix(upperFirst(string(f.Severity))+", "+f.Where+": "+f.Text, ".")+".")
	}
	lines = dropEmpty(lines...)
	half, all := 0, len(strings.Join(lines, ""))
	for n := 0; 2*n < all; half++ { // two columns of about as many letters
		n += len(lines[half])
	}
	s.Rows = []row{{{Share: 1, Lines: lines[:half]}, {Share: 1, Lines: lines[half:]}}}
	return s
}

// uncertaintyWords names what went into the uncertainties, and no more.
func uncertaintyWords(s sheet.Sheet) string {
	g, p := s.Gauge, s.Plunger
	const resolution, permissible = "the gauge's resolution", "its permissible error"
	parts := dropEmpty("the repeatability of the readings", given(g.ResolutionMM > 0, resolution), given(g.MPEMM > 0, permissible),
		given(p.CosineDeg != 0 || p.ContactRadius > 0 && p.HeelRadius > 0, "the plunger's alignment"))
	text := "±, U: expanded uncertainty, about 95 %, by the GUM (JCGM 100), from " + words.List(parts) + ". A dash: not known, and then nothing is proven."
	if out := dropEmpty(given(!(g.ResolutionMM > 0), resolution), given(!(g.MPEMM > 0), permissible)); len(out) > 0 {
		text += " Not entered, and so not in it: " + words.List(out) + "; the true uncertainty is larger."
	}
	return text
}

func gaugeWords(d Data) string {
	g := d.Sheet.Gauge
	parts := dropEmpty(g.Label,
		given(g.ResolutionMM > 0, "resolution "+millimetres(d.Sheet).quantity(g.ResolutionMM)),
		given(g.MPEMM > 0, "permissible error ±"+Format{"mm", resolved(g.MPEMM, 4)}.quantity(g.MPEMM)),
		given(g.Calibrated != "", "calibrated "+g.Calibrated))
	return strings.Join(dropEmpty(
		given(len(parts) > 0, "Indicator: "+strings.Join(parts, ", ")+"."),
		given(len(d.Gauges) > 0, "Gauges behind the readings: "+strings.Join(d.Gauges, ", ")+".")), " ")
}

func plungerWords(s sheet.Sheet) string {
	if s.Plunger.Measured == "" {
		return ""
	}
	text := "Backlash was measured " + s.Plunger.Measured + " to the tooth"
	switch s.Plunger.Measured {
	case "transverse":
		text = "Backlash was measured transverse, in the plane of rotation"
	case "unknown":
		text = "Whether the plunger stood square to the tooth or in the plane of rotation is not recorded"
	}
	return text + given(s.Plunger.Spec != "", "; the manual's window is taken as "+s.Plunger.Spec) +
		given(s.Plunger.ContactRadius > 0, "; contact radius "+units.Exact(s.Plunger.ContactRadius)+" mm") + "."
}

// cautionSection is the same on every report.
func cautionSection() section {
	return section{Title: "Cautions", Rows: []row{
		{{Share: 1, Lines: []string{
			"The maker's manual, local codes and a licensed trade come before anything on this sheet. Driveline changes may need engineering approval and the insurer's consent.",
			"Support: level floor, rated stands, chocks, never a jack alone. The centre slides out when the caps come off.",
		}}, {Share: 1, Lines: []string{
			"Turning parts: nobody at the ignition; fingers and indicator arm clear of the teeth.",
			"Press: guard in place, load the inner ring only, never draw a wheel down with its bolts.",
			"Heat: gloves, no flame, hot water or oven within the maker's limit; dry before fitting.",
		}}, {Share: 1, Lines: []string{
			"Compressed air: eye guard, reduced pressure for blowing off, vent before undoing.",
			"Chemicals: locker, sealant and cleaner harm skin and lungs; gloves and fresh air.",
			"Road: a locked differential takes the steering away on hard ground. Re-check leaks, noise and backlash after running in.",
		}}},
	}}
}

// digestSection is what the signatures stand below: the verdict in words, and the
// digest of the record for eyes and as a QR code.
func digestSection(d Data) section {
	r := d.Record
	code, err := qr.Encode(r.Text, qr.M)
	if r.Job == "" || err != nil {
		return section{}
	}
	const side = 110
	picture := &drawing{width: side, height: side, title: "QR code of the digest", desc: "It holds the text of captures.digest."}
	picture.marks = []mark{{photo: code.PNG(), kind: "png", size: point{side, side}}}
	return section{Title: "What is signed", Rows: []row{{{Share: 1, Picture: picture}, {Share: 5, Lines: []string{
		strings.Join(dropEmpty(d.Sheet.Vehicle.Label, d.Sheet.Vehicle.Job), ", ") + ": " + d.Headline + ".",
		fmt.Sprintf("Record %s, %d lines; report by %s.", r.Job, r.Lines, r.Program),
		"First line " + r.First, "Last line " + r.Last,
		"The code holds the same as captures.digest: with it crownlog verify JOB --digest FILE shows whether anything up to there was changed.",
	}}}}}
}
