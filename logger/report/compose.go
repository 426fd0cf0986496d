package report

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

const reportTitle = "Crown wheel and pinion setting record"

// compose lays the data out as a page. A section without data is left out.
func compose(d Data) page {
	p := page{
		Banner: given(d.Sheet.Invented, inventedBanner), Title: reportTitle, Block: titleBlock(d),
		Verdict: d.Verdict, Headline: d.decided, Under: underHeadline(d),
		Foot: footer(d),
	}
	p.Sections = slices.DeleteFunc([]section{
		summarySection(d), backlashSection(d), changeSection(d), runoutSection(d), boltSection(d),
		contactSection(d), recordSection(d), gaugeSection(d), cautionSection(), digestSection(d),
	}, func(s section) bool { return len(s.Rows) == 0 })
	last := &p.Sections[len(p.Sections)-1] // nobody signs below nothing
	signs := Each([]string{"Fitter: name, signature", "Checked by: name, signature", "Date"}, func(s string) panel { return panel{Share: 1, Sign: s} })
	last.Rows = append(last.Rows, signs)
	return p
}

// titleBlock names the job like the corner of a drawing.
func titleBlock(d Data) []field {
	s := d.Sheet
	gears := ""
	if g := s.GearSet; g.PinionTeeth > 0 && g.WheelTeeth > 0 {
		gears = fmt.Sprintf("%d:%d (%.2f)", g.WheelTeeth, g.PinionTeeth, float64(g.WheelTeeth)/float64(g.PinionTeeth))
		gears += given(g.WheelDiameter > 0, ", Ø "+units.Exact(g.WheelDiameter)+" mm") + given(g.Used, ", used") + given(g.Aim != "", ", aim "+g.Aim)
	}
	adjuster := s.Adjuster.Kind
	if s.Adjuster.Kind == "threaded" && s.Adjuster.Notches > 0 {
		adjuster = fmt.Sprintf("threaded, %s mm, %d notches", units.Exact(s.Adjuster.PitchMM), s.Adjuster.Notches)
	}
	return slices.DeleteFunc([]field{
		{"Vehicle", s.Vehicle.Label}, {"Job", s.Vehicle.Job}, {"Axle", s.Vehicle.Axle}, {"Odometer", s.Vehicle.Odometer}, {"VIN", s.Vehicle.VIN},
		{"Crown wheel : pinion", gears}, {"Adjuster", adjuster}, {"Serial of the centre fitted", s.Vehicle.CentreSerial}, {"Measured", period(d.First, d.Last)},
		{"Measured by", strings.Join(d.people, ", ")}, {"Checked by", s.Vehicle.CheckedBy},
	}, func(f field) bool { return f.Text == "" })
}

// period is the days from first to last where they were measured, with the offset
// from UTC that held there.
func period(first, last time.Time) string {
	if first.IsZero() {
		return ""
	}
	const day = "2006-01-02 (UTC-07:00)"
	from, to := first.Format(day), last.Format(day)
	return from + given(to != from, " to "+to)
}

func footer(d Data) string {
	r, of := d.Record, record.Fronted(d.Sheet.Vehicle.Label, ", ", d.Sheet.Vehicle.Job)
	return "Made by crownlog on " + minute(d.Made) + " UTC from the job folder's captures. It does not replace the maker's manual or a licensed trade." +
		given(r.Job != "", fmt.Sprintf(" Record of %s: job %s, %d lines, first %s, last %s; %s.", of, r.Job, r.Lines, r.First, r.Last, r.Program))
}

// worthTelling reports whether why a line is judged as it is stands under the
// headline: not what is plainly inside, nor what no window was entered for.
func (j Judged) worthTelling() bool {
	if j.Feature == record.FeatureBacklash {
		return j.Reason != ""
	}
	windowed := j.Spec.Limits.Any() || j.Feature == record.FeatureEngagement || slices.Contains(flanks, j.Feature)
	return j.Reason != "" && j.Verdict != gum.Inside && windowed
}

// underHeadline says what the headline rests on.
func underHeadline(d Data) []string {
	said := slices.Clone(d.Standing)
	if names := byDefault(d.Judged); len(names) > 0 {
		said = append(said, "Default window, not the maker's: "+strings.Join(names, ", "))
	}
	var why, open []string
	for _, j := range d.Judged {
		if j.Feature == record.FeatureCloseUp {
			said = append(said, "Closing up confirmed by eye: "+j.Text)
		}
		if j.worthTelling() {
			why = append(why, upperFirst(j.title())+", "+stageTitle(j.Stage)+": "+j.Reason+".")
		}
	}
	for _, h := range d.Holds { // what is not measured stands above
		if h.Blocking && !slices.ContainsFunc(d.Lacking, func(s job.Step) bool { return s.Stage == h.Stage && s.Feature == h.Feature }) {
			open = append(open, h.Reason)
		}
	}
	why = append(why, given(len(open) > 0, "Still open: "+strings.Join(open, " ")))
	return dropEmpty(append([]string{given(len(said) > 0, strings.Join(said, ". ")+".")}, why...)...)
}
