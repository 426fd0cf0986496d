package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/logger"
)

// InventedBanner stands on every page made from invented data.
const InventedBanner = "Invented demonstration data – no vehicle was measured"

// compose lays the data out as a page. A section without data is left out.
func compose(d Data) page {
	p := page{
		title: "Crown wheel and pinion setting record", block: titleBlock(d),
		verdict: d.Verdict, headline: d.Headline, under: underHeadline(d),
		signs: []string{"Fitter: name, signature", "Checked by: name, signature", "Date"},
		foot:  footer(d),
	}
	if d.Sheet.Invented {
		p.banner = InventedBanner
	}
	for _, s := range []section{
		summarySection(d), backlashSection(d), changeSection(d), runoutSection(d), boltSection(d),
		contactSection(d), recordSection(d), gaugeSection(d), cautionSection(),
	} {
		if len(s.rows) > 0 {
			p.sections = append(p.sections, s)
		}
	}
	return p
}

// titleBlock names the job like the corner of a drawing.
func titleBlock(d Data) []field {
	s := d.Sheet
	gears := ""
	if g := s.GearSet; g.PinionTeeth > 0 && g.WheelTeeth > 0 {
		gears = fmt.Sprintf("%d:%d (%.2f)", g.WheelTeeth, g.PinionTeeth, float64(g.WheelTeeth)/float64(g.PinionTeeth))
		if g.WheelDiameter > 0 {
			gears += ", Ø " + strconv.FormatFloat(g.WheelDiameter, 'f', -1, 64) + " mm"
		}
		if g.Used {
			gears += ", used"
		}
	}
	adjuster := s.Adjuster.Kind
	if s.Adjuster.Kind == "threaded" && s.Adjuster.Notches > 0 {
		adjuster = fmt.Sprintf("threaded, %s mm, %d notches", strconv.FormatFloat(s.Adjuster.PitchMM, 'f', -1, 64), s.Adjuster.Notches)
	}
	var kept []field
	for _, f := range []field{
		{"Vehicle", s.Vehicle.Label}, {"Job", s.Vehicle.Job}, {"Axle", s.Vehicle.Axle}, {"Odometer", s.Vehicle.Odometer},
		{"Crown wheel : pinion", gears}, {"Adjuster", adjuster}, {"Operator", s.Vehicle.Operator}, {"Measured", period(d.First, d.Last)},
	} {
		if f.Text != "" {
			kept = append(kept, f)
		}
	}
	return kept
}

// period is the days from first to last.
func period(first, last time.Time) string {
	if first.IsZero() {
		return ""
	}
	from, to := first.UTC().Format(time.DateOnly), last.UTC().Format(time.DateOnly)
	if from == to {
		return from
	}
	return from + " to " + to
}

func footer(d Data) string {
	s := "Made by crownlog on " + d.Made.UTC().Format("2006-01-02 15:04") + " UTC from the job folder's captures."
	return s + " It does not replace the maker's manual or a licensed trade."
}

// underHeadline says what the headline rests on.
func underHeadline(d Data) []string {
	var lines []string
	for _, j := range d.Judged {
		if j.Reason != "" {
			lines = append(lines, upperFirst(j.Title)+", "+stageTitle(j.Stage)+": "+j.Reason+".")
		}
	}
	var open []string
	for _, h := range d.Holds {
		if h.Blocking {
			open = append(open, h.Reason)
		}
	}
	if len(open) > 0 {
		lines = append(lines, "Still open: "+strings.Join(open, " "))
	}
	return lines
}

// summarySection is the latest polar picture beside the summary table.
func summarySection(d Data) section {
	if len(d.Judged) == 0 {
		return section{}
	}
	t := &table{
		caption: "Each feature at the latest stage it was measured in, ± expanded uncertainty (about 95 %).",
		columns: []column{{"Feature", false}, {"Value", true}, {"Entered window", true}, {"Verdict", false}},
	}
	for _, j := range d.Judged {
		value := plain(j.Format.PlusMinus(j.Value, j.U))
		if math.IsNaN(j.Value) {
			value = plain(j.Text)
		}
		t.rows = append(t.rows, []entry{
			plain(upperFirst(j.Title) + ", " + shortStage(j.Stage)), value,
			plain(j.Format.Range(j.Limits)), judged(j.Verdict, verdictWords(j.Verdict)),
		})
	}
	s := section{title: "Summary"}
	n := len(d.Backlash)
	if n == 0 {
		s.rows = []row{{{share: 1, table: t}}}
		return s
	}
	latest := d.Backlash[n-1]
	picture := polarPicture(latest, d.Backlash[:n-1], backlashScale(d.Backlash, polarLarge), polarLarge)
	s.rows = []row{{{share: 1, picture: picture}, {share: 2, table: t, lines: polarLegend(d)}}}
	return s
}

// polarLegend explains the picture.
func polarLegend(d Data) []string {
	latest := d.Backlash[len(d.Backlash)-1]
	lines := []string{
		"Backlash around the wheel, " + stageTitle(latest.Stage) + ": position 1 at the top, numbers clockwise, radius in mm.",
		"Disc: inside. Crossed diamond: outside. Triangle: too close to call. Open circle: not judged.",
	}
	extra := ""
	if latest.Spec.Limits.Any() {
		extra = "Shaded ring: " + latest.Format.Window(latest.Spec.Limits) + ". "
	}
	if len(d.Backlash) > 1 {
		extra += "Thin dashed lines: the stages before."
	}
	return dropEmpty(append(lines, strings.TrimSpace(extra)))
}

// backlashSection is the polar picture of every stage and the figures.
func backlashSection(d Data) section {
	if len(d.Backlash) == 0 {
		return section{}
	}
	s := section{title: "Backlash around the wheel, stage by stage"}
	if len(d.Backlash) > 1 {
		scale := backlashScale(d.Backlash, polarSmall)
		var pictures row
		for _, r := range d.Backlash {
			p := polarPicture(r, nil, scale, polarSmall)
			p.caption(stageTitle(r.Stage) + ", mean " + r.Format.finer().Quantity(r.Round.Mean))
			pictures = append(pictures, panel{share: 1, picture: p})
		}
		s.rows = append(s.rows, pictures)
	}
	t := backlashTable(d.Backlash)
	if len(positionsOf(d.Backlash)) > widestRow {
		long := t.transposed()
		long.caption = "By position"
		s.rows = append(s.rows, row{{share: 1, lines: []string{t.caption}}}, long.sideBySide(max(2, 5-len(d.Backlash))))
	} else {
		s.rows = append(s.rows, row{{share: 1, table: t}})
	}
	if notes := roundNotes(d.Backlash); len(notes) > 0 {
		s.rows = append(s.rows, row{{share: 1, lines: notes}})
	}
	return s
}

// caption writes a line below a picture.
func (d *drawing) caption(text string) {
	d.write(inkText, label{at: point{d.width / 2, d.height + 9}, anchor: anchorMiddle, size: 11, bold: true, text: text})
	d.height += 16
}

// widestRow is how many positions fit across the page.
const widestRow = 10

// backlashTable has a row a stage and a column a position.
func backlashTable(rounds []Round) *table {
	t := &table{caption: "Backlash in mm by position, each with its own verdict; the stage's verdict follows the entered acceptance rule. Bold: tightest and loosest. 1×, 2×: the part that repeats once and twice around the wheel, either way from the mean."}
	t.columns = []column{{"Stage", false}}
	for _, p := range positionsOf(rounds) {
		t.columns = append(t.columns, column{fmt.Sprintf("%d (%.0f°)", p.Position, p.AngleDeg), true})
	}
	t.columns = append(t.columns, column{"Mean", true}, column{"Spread", true}, column{"1× / 2×", true}, column{"Verdict", false})
	for _, r := range rounds {
		line := []entry{{text: stageTitle(r.Stage), strong: true}}
		for _, p := range positionsOf(rounds) {
			line = append(line, positionEntry(r, p.Position))
		}
		h := r.Format.Figure(r.Round.H1.Amplitude)
		if r.Round.H2Known {
			h += " / " + r.Format.Figure(r.Round.H2.Amplitude)
		}
		t.rows = append(t.rows, append(line, plain(r.Format.finer().Figure(r.Round.Mean)), plain(r.Format.Figure(r.Round.Spread)),
			plain(h), judged(r.Round.Verdict, verdictWords(r.Round.Verdict))))
	}
	return t
}

// positionsOf is every position measured in any of the rounds.
func positionsOf(rounds []Round) []Point {
	most := rounds[0].Points
	for _, r := range rounds {
		if len(r.Points) > len(most) {
			most = r.Points
		}
	}
	return most
}

func positionEntry(r Round, position int) entry {
	for _, p := range r.Points {
		if p.Position == position {
			e := judged(p.Verdict, r.Format.Figure(p.Value))
			e.strong = position == r.Round.Tightest.Position || position == r.Round.Loosest.Position
			return e
		}
	}
	return plain(missing)
}

// roundNotes says what the table cannot.
func roundNotes(rounds []Round) []string {
	var lines []string
	for _, r := range rounds {
		if len(r.Round.Missing) > 0 {
			lines = append(lines, upperFirst(stageTitle(r.Stage))+": not measured at "+positionList(r.Round.Missing)+".")
		}
		for _, p := range r.Points {
			if p.Quality != "ok" && p.Quality != "keyed" && p.Quality != "" {
				lines = append(lines, fmt.Sprintf("%s, position %d: %s.", upperFirst(stageTitle(r.Stage)), p.Position, strings.ReplaceAll(p.Quality, "+", ", ")))
			}
		}
	}
	return lines
}

func positionList(ps []int) string {
	s := make([]string, len(ps))
	for i, p := range ps {
		s[i] = strconv.Itoa(p)
	}
	if len(s) == 1 {
		return "position " + s[0]
	}
	return "positions " + strings.Join(s, ", ")
}

// changeSection is what each stage and each adjuster move did to the backlash.
func changeSection(d Data) section {
	var s section
	var titles []string
	if len(d.Changes) > 0 {
		titles = append(titles, "Stage changes")
		s.rows = append(s.rows, row{{share: 1, picture: stagePicture(d.Backlash)}, {share: 2, table: changeTable(d.Changes)}})
	}
	if len(d.Moves) > 0 {
		titles = append(titles, "Adjuster history")
		s.rows = append(s.rows, row{{share: 1, table: moveTable(d)}})
	}
	s.title = strings.Join(titles, ", ")
	return s
}

func changeTable(cs []StageChange) *table {
	t := &table{
		caption: "Change of the mean backlash; it counts only beyond its expanded uncertainty U.",
		columns: []column{{"Between", false}, {"Change, mm", true}, {"± U", true}, {"Result", false}},
	}
	for _, c := range cs {
		t.rows = append(t.rows, []entry{
			plain(stageTitle(c.From) + " – " + stageTitle(c.To)), plain(c.Format.finer().Signed(c.Change.Mean)),
			plain(c.Format.finer().Uncertainty(c.U)), plain(c.Sentence),
		})
	}
	return t
}

// moveTable is the adjuster history.
func moveTable(d Data) *table {
	t := &table{
		caption: "Adjuster moves: + is the crown wheel towards the pinion; mean backlash in mm before and after.",
		columns: []column{{"No.", false}, {"Stage", false}, {"Time (UTC)", false}, {"Move", true}, {"In all", true}, {"Before", true}, {"After", true}, {"Note", false}},
	}
	for i, m := range d.Moves {
		f := Format{Unit: m.Unit, Decimals: 2}
		if m.Unit != "mm" {
			f.Decimals = 0
		}
		b := Format{Unit: "mm", Decimals: resolved(d.Sheet.Gauge.ResolutionMM, 3)}.finer()
		t.rows = append(t.rows, []entry{
			plain(strconv.Itoa(i + 1)), plain(stageTitle(m.Stage)), plain(m.Time.UTC().Format("2006-01-02 15:04")),
			plain(f.Signed(m.Amount) + spaced(m.Unit)), plain(f.Signed(m.Net)), plain(b.Figure(m.Before)), plain(b.Figure(m.After)), plain(m.Note),
		})
	}
	return t
}

// runoutSection is a picture and the figures of each run-out.
func runoutSection(d Data) section {
	if len(d.Runouts) == 0 {
		return section{}
	}
	var panels row
	for _, r := range d.Runouts {
		p := runoutPicture(r)
		p.caption(upperFirst(r.Title) + ", " + stageTitle(r.Stage))
		panels = append(panels, panel{share: 1, picture: p})
	}
	t := runoutTable(d.Runouts)
	s := section{title: "Run-out"}
	if len(panels) > 2 {
		s.rows = append(thirds(panels, nil), row{{share: 1, table: t}})
		return s
	}
	s.rows = []row{append(panels, panel{share: 1, table: t.transposed()})}
	return s
}

// runoutTable has a row for each run-out.
func runoutTable(runouts []Runout) *table {
	t := &table{
		caption: "mm. Circles: readings; dashed: once a turn (1×); line: with twice a turn (2×), either way, at the angle of the high spot.",
		columns: []column{{"", false}, {"Full movement", true}, {"Limit", true}, {"1× a turn", true}, {"2× a turn", true}, {"Rest, s.d.", true}, {"If re-seated", true}, {"Verdict", false}},
	}
	for _, r := range runouts {
		t.rows = append(t.rows, []entry{
			plain(upperFirst(strings.TrimPrefix(r.Title, "run-out of the "))), plain(r.Format.Figure(r.Runout.FIM)), plain(r.Format.Range(r.Limits)),
			plain(harmonicText(r.Runout.H1, r.Format)), plain(harmonicText(r.Runout.H2, r.Format)),
			plain(r.Format.Figure(r.Runout.ResidualSD)), plain(r.Format.Figure(r.Runout.FIMIfReseated)),
			judged(r.Verdict, verdictWords(r.Verdict)),
		})
	}
	return t
}

// thirds puts panels three to a row; lines take the first free place.
func thirds(panels row, lines []string) []row {
	if len(lines) > 0 && len(panels)%3 != 0 {
		panels = append(panels, panel{share: 1, lines: lines})
	}
	for len(panels)%3 != 0 {
		panels = append(panels, panel{share: 1})
	}
	return slices.Collect(slices.Chunk(panels, 3))
}

func harmonicText(h *analysis.Harmonic, f Format) string {
	if h == nil {
		return missing
	}
	return fmt.Sprintf("%s at %.0f°", f.Figure(h.Amplitude), h.PhaseDeg)
}

// boltSection is one picture a bolt circle.
func boltSection(d Data) section {
	if len(d.Bolts) == 0 {
		return section{}
	}
	var panels row
	var notes []string
	for _, b := range d.Bolts {
		p := boltPicture(b)
		p.caption(upperFirst(b.Title) + ", " + stageTitle(b.Stage))
		panels = append(panels, panel{share: 1, picture: p})
		notes = append(notes, boltNotes(b)...)
	}
	notes = append(notes, "Bars start at the target; shaded: tolerance.")
	if len(panels)%3 == 0 {
		return section{title: "Bolt torque in sequence", rows: append(thirds(panels, nil), row{{share: 1, lines: notes}})}
	}
	return section{title: "Bolt torque in sequence", rows: thirds(panels, notes)}
}

// boltNotes are the facts of a bolt list that matter later.
func boltNotes(b BoltCircle) []string {
	lines := []string{upperFirst(b.Title) + ": " + boltWords(b)}
	for _, f := range []struct {
		set  bool
		text string
	}{
		{b.List.LeftHand, "Left-hand threads."}, {b.List.OneTime, "One-time bolts: new ones at every removal."},
		{b.List.ThreadLocker, "Thread-locker: no re-strike once it has set."},
	} {
		if f.set {
			lines = append(lines, f.text)
		}
	}
	for _, bolt := range b.Bolts {
		if math.IsNaN(bolt.Torque) {
			lines = append(lines, fmt.Sprintf("Bolt %d: no torque on record.", bolt.Number))
		}
	}
	return lines
}

// contactSection sketches the contact on drive and coast flanks and draws the
// leak-down curve, where its readings were kept.
func contactSection(d Data) section {
	var panels row
	var titles []string
	for _, p := range d.Patterns {
		panels = append(panels, patternPanels(p, d.Sheet.GearSet.ToothForm)...)
	}
	if len(d.Patterns) > 0 {
		titles = append(titles, "Contact pattern")
	}
	for _, l := range d.LeakDowns {
		panels = append(panels, leakPanel(l))
	}
	if len(d.LeakDowns) > 0 {
		titles = append(titles, "Air test")
	}
	if len(panels) == 0 {
		return section{}
	}
	return section{title: strings.Join(titles, ", "), rows: thirds(panels, nil)}
}

func patternPanels(p Pattern, form string) row {
	var r row
	if p.Drive != nil {
		r = append(r, panel{share: 1, picture: toothPicture("drive", form, *p.Drive), lines: []string{
			upperFirst(stageTitle(p.Stage)) + ". " + contactWords(*p.Drive)}})
	}
	if p.Coast != nil {
		r = append(r, panel{share: 1, picture: toothPicture("coast", form, *p.Coast), lines: dropEmpty([]string{
			upperFirst(stageTitle(p.Stage)) + ". " + contactWords(*p.Coast), p.Advice.Text})})
	}
	return r
}

func leakPanel(l LeakDown) panel {
	p := panel{share: 1, lines: dropEmpty([]string{
		fmt.Sprintf("%s: loses %s; %s; %s.", upperFirst(stageTitle(l.Stage)), rateFormat.PlusMinus(l.Rate, l.U),
			rateFormat.Window(l.Limits), verdictWords(l.Verdict)), l.Note,
	})}
	if len(l.Curve) > 1 {
		p.picture = leakPicture(l)
		p.lines = append(p.lines, "Dashed: the fitted loss.")
	}
	return p
}

// recordSection is overrides, notes and rejected readings.
func recordSection(d Data) section {
	rows := append(remarkRows(d.Remarks), remarkRows(d.Rejected)...)
	if len(rows) == 0 {
		return section{}
	}
	return section{title: "Overrides, notes and readings set aside", rows: []row{{{share: 1, table: &table{
		caption: "Readings not used stay on record.", rows: rows,
		columns: []column{{"Time (UTC)", false}, {"Stage", false}, {"What", false}},
	}}}}}
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
		"± and U: expanded uncertainty, k = 2, about 95 %, from resolution, repeatability, permissible error and alignment of the gauge by the GUM (JCGM 100). A dash: not known, counted as none.",
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
		parts = append(parts, "resolution "+f.Quantity(g.ResolutionMM))
	}
	if g.MPEMM > 0 {
		parts = append(parts, "permissible error ±"+Format{Unit: "mm", Decimals: resolved(g.MPEMM, 4)}.Quantity(g.MPEMM))
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

func dropEmpty(lines []string) []string {
	var kept []string
	for _, l := range lines {
		if l != "" {
			kept = append(kept, l)
		}
	}
	return kept
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
