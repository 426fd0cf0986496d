package report

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// recordSection is overrides, notes and rejected readings.
func recordSection(d Data) section {
	rows := append(remarkRows(d.Remarks), remarkRows(d.Rejected)...)
	if len(rows) == 0 {
		return section{}
	}
	return section{Title: "Overrides, notes and readings set aside", Rows: []row{{{Share: 1, Table: &table{
		Caption: "Readings not used stay on record.", Rows: rows,
		Columns: []column{{"Time (UTC)", false}, {"Stage", false}, {"What", false}},
	}, Lines: attachmentLines(d.Attachments)}}}}
}

// attachmentLines says whether the attached files are what was attached.
func attachmentLines(as []record.CheckedAttachment) []string {
	if len(as) == 0 {
		return nil
	}
	sound := 0
	var lines []string
	for _, a := range as {
		if a.Problem == "" {
			sound++
			continue
		}
		lines = append(lines, a.Path+": the attached file "+a.Problem+".")
	}
	return append(lines, fmt.Sprintf("Attached files that agree with their SHA-256 of when they were attached: %d of %d.", sound, len(as)))
}

func remarkRows(rs []Remark) [][]entry {
	var rows [][]entry
	for _, r := range rs {
		text := r.Text
		switch r.Kind {
		case "override":
			text = "Override: " + text
		case "rejected":
			text = "Not used: " + text
		}
		rows = append(rows, []entry{plain(r.Time.UTC().Format("2006-01-02 15:04")), plain(stageTitle(r.Stage)), plain(text)})
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
	for _, f := range d.Findings {
		if f.Severity == sheet.Advice || strings.HasPrefix(f.Where, "attachments/") {
			continue
		}
		lines = append(lines, strings.TrimSuffix(upperFirst(string(f.Severity))+", "+f.Where+": "+f.Text, ".")+".")
	}
	lines = dropEmpty(lines)
	half := halfway(lines)
	s.Rows = []row{{{Share: 1, Lines: lines[:half]}, {Share: 1, Lines: lines[half:]}}}
	return s
}

// uncertaintyWords names what went into the uncertainties, and no more.
func uncertaintyWords(s sheet.Sheet) string {
	parts := []string{"the repeatability of the readings"}
	var out []string
	count := func(known bool, text string) {
		if known {
			parts = append(parts, text)
		} else {
			out = append(out, text)
		}
	}
	count(s.Gauge.ResolutionMM > 0, "the gauge's resolution")
	count(s.Gauge.MPEMM > 0, "its permissible error")
	if s.Plunger.CosineDeg != 0 || s.Plunger.ContactRadius > 0 && s.Plunger.HeelRadius > 0 {
		parts = append(parts, "the plunger's alignment")
	}
	text := "±, U: expanded uncertainty, about 95 %, by the GUM (JCGM 100), from " + list(parts) + ". A dash: not known, and then nothing is proven."
	if len(out) > 0 {
		text += " Not entered, and so not in it: " + list(out) + "; the true uncertainty is larger."
	}
	return text
}

// list joins words as a sentence does.
func list(words []string) string {
	n := len(words)
	if n < 2 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
}

// halfColumn is about how many letters a line of half the page holds.
const halfColumn = 70

// halfway is how many of the texts fill half of the lines they take, each
// beginning one of its own.
func halfway(texts []string) int {
	taken := func(t string) int { return 1 + utf8.RuneCountInString(t)/halfColumn }
	total := 0
	for _, t := range texts {
		total += taken(t)
	}
	sum := 0
	for i, t := range texts {
		if sum += taken(t); 2*sum >= total {
			return i + 1
		}
	}
	return len(texts)
}

func gaugeWords(d Data) string {
	g := d.Sheet.Gauge
	var parts []string
	if g.Label != "" {
		parts = append(parts, g.Label)
	}
	f := millimetres(d.Sheet)
	if g.ResolutionMM > 0 {
		parts = append(parts, "resolution "+f.quantity(g.ResolutionMM))
	}
	if g.MPEMM > 0 {
		parts = append(parts, "permissible error ±"+Format{Unit: "mm", Decimals: resolved(g.MPEMM, 4)}.quantity(g.MPEMM))
	}
	if g.Calibrated != "" {
		parts = append(parts, "calibrated "+g.Calibrated)
	}
	s := ""
	if len(parts) > 0 {
		s = "Indicator: " + strings.Join(parts, ", ") + ". "
	}
	if len(d.Gauges) > 0 {
		s += "Gauges behind the readings: " + strings.Join(d.Gauges, ", ") + "."
	}
	return strings.TrimSpace(s)
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
	if s.Plunger.Spec != "" {
		text += "; the manual's window is taken as " + s.Plunger.Spec
	}
	if s.Plunger.ContactRadius > 0 {
		text += fmt.Sprintf("; contact radius %s mm", strconv.FormatFloat(s.Plunger.ContactRadius, 'f', -1, 64))
	}
	return text + "."
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
