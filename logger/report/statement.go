package report

import (
	"fmt"
	"strconv"
	"strings"

	"crownlog/logger"
)

// recordSection is overrides, notes and rejected readings.
func recordSection(d Data) section {
	rows := append(remarkRows(d.Remarks), remarkRows(d.Rejected)...)
	if len(rows) == 0 {
		return section{}
	}
	return section{title: "Overrides, notes and readings set aside", rows: []row{{{share: 1, table: &table{
		caption: "Readings not used stay on record.", rows: rows,
		columns: []column{{"Time (UTC)", false}, {"Stage", false}, {"What", false}},
	}, lines: attachmentLines(d.Attachments)}}}}
}

// attachmentLines says whether the attached files are what was attached.
func attachmentLines(as []logger.Attachment) []string {
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

// gaugeSection states what the figures rest on.
func gaugeSection(d Data) section {
	s := section{title: "Gauges and uncertainty"}
	lines := []string{
		"± and U: expanded uncertainty, k = 2, about 95 %, from resolution, repeatability, permissible error and alignment of the gauge by the GUM (JCGM 100). A dash: not known, and then nothing is proven.",
		"Verdicts by ISO 14253-1: inside where the window less the uncertainty holds the reading, outside beyond the window plus the uncertainty, else too close to call.",
		gaugeWords(d), plungerWords(d.Sheet),
	}
	for _, f := range d.Findings {
		if f.Severity == logger.Advice {
			continue
		}
		lines = append(lines, strings.TrimSuffix(upperFirst(string(f.Severity))+", "+f.Where+": "+f.Text, ".")+".")
	}
	lines = dropEmpty(lines)
	half := halfway(lines)
	s.rows = []row{{{share: 1, lines: lines[:half]}, {share: 1, lines: lines[half:]}}}
	return s
}

// halfway is how many lines make up half of the text.
func halfway(lines []string) int {
	total := 0
	for _, l := range lines {
		total += len(l)
	}
	sum := 0
	for i, l := range lines {
		if sum += len(l); 2*sum >= total {
			return i + 1
		}
	}
	return len(lines)
}

func gaugeWords(d Data) string {
	g := d.Sheet.Gauge
	var parts []string
	if g.Label != "" {
		parts = append(parts, g.Label)
	}
	f := Format{Unit: "mm", Decimals: resolved(g.ResolutionMM, 3)}
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

func plungerWords(s logger.Sheet) string {
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
	return section{title: "Cautions", rows: []row{
		{{share: 1, lines: []string{
			"The maker's manual, local codes and a licensed trade come before anything on this sheet. Driveline changes may need engineering approval and the insurer's consent.",
			"Support: level floor, rated stands, chocks, never a jack alone. The centre slides out when the caps come off.",
		}}, {share: 1, lines: []string{
			"Turning parts: nobody at the ignition; fingers and indicator arm clear of the teeth.",
			"Press: guard in place, load the inner ring only, never draw a wheel down with its bolts.",
			"Heat: gloves, no flame, hot water or oven within the maker's limit; dry before fitting.",
		}}, {share: 1, lines: []string{
			"Compressed air: eye guard, reduced pressure for blowing off, vent before undoing.",
			"Chemicals: locker, sealant and cleaner harm skin and lungs; gloves and fresh air.",
			"Road: a locked differential takes the steering away on hard ground. Re-check leaks, noise and backlash after running in.",
		}}},
	}}
}
