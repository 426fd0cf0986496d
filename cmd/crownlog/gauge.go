package main

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/sheet"
)

type gaugeCmd struct {
	Check gaugeCheckCmd `cmd:"" help:"Check a gauge on a feeler or gauge block of known size: bias, repeatability, Cg and Cgk, certificate."`
	Hand  gaugeHandCmd  `cmd:"" help:"Measure how much of a backlash the push of the hand makes, in place of the figure that is assumed."`
}

// A gaugeJob is the job that a check is filed in and whose sheet it goes by.
type gaugeJob struct {
	Job        string  `help:"Job folder: its sheet says what is not given here, and the result is filed in it as a note." placeholder:"DIR"`
	Stage      string  `help:"Stage of the job. Default: the one it is at."`
	Resolution float64 `help:"Step of the gauge's display in mm. Default: the job's, or the last digit of the readings."`
	JSON       bool    `name:"json" help:"Print one JSON object."`
	signer
}

// sheet is the job's, an empty one without a job.
func (g gaugeJob) sheet() (sheet.Sheet, error) {
	if g.Job == "" {
		return sheet.Sheet{}, nil
	}
	snap, err := readJob(g.Job)
	if err != nil {
		return sheet.Sheet{}, err
	}
	return snap.Sheet, nil
}

// step is that of the gauge which gave the readings.
func (g gaugeJob) step(s sheet.Sheet, readings []float64) float64 {
	digits := 0
	for _, v := range readings {
		digits = max(digits, feature.DecimalsOf(v))
	}
	return cmp.Or(g.Resolution, s.Gauge.ResolutionMM, math.Pow10(-digits))
}

// file prints a result and puts it into the job.
func (g gaugeJob) file(con *console, object report.Object, lines []string) error {
	if g.JSON {
		if err := con.json(object); err != nil {
			return err
		}
	} else {
		fmt.Fprintln(con.out, strings.Join(lines, "\n  "))
	}
	if g.Job == "" {
		return nil
	}
	quiet := *con
	if g.JSON {
		quiet.out = &results{to: con.err}
	}
	return addCapture(&quiet, g.By, g.Job, g.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		return record.AddNote(f, stage, strings.Join(lines, "; "), time.Now())
	})
}

type gaugeCheckCmd struct {
	Size     float64   `arg:"" help:"Known size in mm."`
	Readings []float64 `arg:"" help:"What the gauge reads of it, in mm, the plunger lifted and set down between them: three or more, usually 25."`
	SizeU    float64   `name:"size-uncertainty" help:"Expanded uncertainty of the size in mm, as its certificate says."`
	Lower    *float64  `help:"Lower limit in mm of what the gauge is to decide. Default: the job's backlash."`
	Upper    *float64  `help:"Upper limit in mm. Default: the job's backlash."`
	Due      string    `help:"When the gauge's certificate runs out. Default: a year after the date in the job's sheet." placeholder:"YYYY-MM-DD"`
	gaugeJob
}

// Run checks the gauge. It is no good where Cg or Cgk is below 1.33, where it is off
// by more than the uncertainty explains, or where its certificate has run out.
func (c *gaugeCheckCmd) Run(con *console) error {
	s, err := c.sheet()
	if err == nil {
		err = checkLimits(c.Lower, c.Upper)
	}
	if err != nil {
		return err
	}
	window := gum.NoLimits("mm")
	if c.Job != "" {
		window = s.Window(record.FeatureBacklash).Limits
	}
	for limit, given := range map[*float64]*float64{&window.Lower: c.Lower, &window.Upper: c.Upper} {
		if given != nil {
			*limit = *given
		}
	}
	due, err := certificateDue(c.Due, s.Gauge.Calibrated)
	if err != nil {
		return err
	}
	r, err := gum.CheckGauge(c.Size, c.SizeU/gum.Coverage, c.Readings, window, c.step(s, c.Readings))
	if err != nil {
		return usagef("give the size, then what was read of it", "%w", err)
	}
	expanded := gum.Coverage * r.BiasU
	lines := []string{
		fmt.Sprintf("Gauge check%s at %s: bias %s, %s", prefixed(" of ", s.Gauge.Label), show(c.Size, "mm"), withDoubt(r.Bias, expanded, 4, "mm"),
			map[bool]string{true: "OFF by more than the uncertainty explains", false: "no more than the uncertainty explains"}[r.Off]),
		fmt.Sprintf("repeatability %s from %s", uncertain(r.Repeatability, "mm"), count(r.N, "reading")),
	}
	enough := math.IsNaN(r.Cg) || math.Min(r.Cg, r.Cgk) >= gum.EnoughCg
	if !math.IsNaN(r.Cg) {
		lines = append(lines, fmt.Sprintf("Cg %.2f, Cgk %.2f against %s: %s (%.2f)", r.Cg, r.Cgk, windowText(window, "mm"),
			map[bool]string{true: "good enough", false: "NOT good enough"}[enough], gum.EnoughCg))
	}
	if r.N < gum.UsualRepeats {
		lines = append(lines, fmt.Sprintf("%d readings are usual: fewer tell the repeatability less surely", gum.UsualRepeats))
	}
	overdue := !due.IsZero() && due.Before(time.Now())
	if !due.IsZero() {
		lines = append(lines, "certificate "+map[bool]string{true: "OVERDUE since ", false: "due "}[overdue]+due.Format(time.DateOnly))
	}
	object := report.Object{
		{"size", c.Size}, {"unit", "mm"}, {"n", r.N}, {"bias", gum.Rounded(r.Bias, expanded)}, {"expanded_uncertainty", twoDigits(expanded)}, {"off", r.Off},
		{"repeatability", twoDigits(r.Repeatability)}, {"cg", gum.Rounded(r.Cg, 0.1)}, {"cgk", gum.Rounded(r.Cgk, 0.1)}, {"enough", enough},
		{"certificate_due", due}, {"overdue", overdue},
	}
	if err := c.file(con, object, lines); err != nil {
		return err
	}
	if r.Off || !enough || overdue {
		return errOutside
	}
	return nil
}

// certificateDue is when a certificate runs out: as given, else a year after its
// date; zero: not known.
func certificateDue(given, calibrated string) (time.Time, error) {
	if given == "" {
		of, err := time.Parse(time.DateOnly, calibrated)
		if err != nil {
			return time.Time{}, nil // the date may be written in any way there
		}
		return of.AddDate(1, 0, 0), nil
	}
	due, err := time.Parse(time.DateOnly, given)
	if err != nil {
		return due, usagef("write it as 2027-03-31", "--due %q is no date", given)
	}
	return due, nil
}

type gaugeHandCmd struct {
	Light    []float64 `required:"" help:"Backlash in mm under a light push at both stops, at three places or more, with commas between them." placeholder:"MM,..."`
	Firm     []float64 `required:"" help:"The same under a firm push, at the same places." placeholder:"MM,..."`
	Flicks   []float64 `help:"What the gauge shows each time the stem was flicked and came back." placeholder:"MM,..."`
	SetDowns []float64 `help:"Backlash at one place, the plunger set down anew each time." placeholder:"MM,..."`
	gaugeJob
}

// Run says what the hand makes of a backlash, and how the plunger comes back.
func (c *gaugeHandCmd) Run(con *console) error {
	s, err := c.sheet()
	if err != nil {
		return err
	}
	step := c.step(s, append(c.Light, c.Firm...))
	h, err := gum.CheckHand(c.Light, c.Firm, step)
	if err != nil {
		return usagef("three places or more, each with both pushes", "%w", err)
	}
	expanded := gum.Coverage * h.GiveU
	push, _ := gum.RoundU(h.Push)
	lines := []string{
		fmt.Sprintf("Hand check: a firm push reads %s more than a light one, both stops together", withDoubt(h.Give, expanded, 4, "mm")),
		fmt.Sprintf("what a usual push may add: %s; it counts once [plunger] of job.toml says push_mm = %s, until the gauge is set up anew", uncertain(push, "mm"), units.Exact(push)),
	}
	object := report.Object{{"unit", "mm"}, {"give", gum.Rounded(h.Give, expanded)}, {"expanded_uncertainty", twoDigits(expanded)}, {"push_mm", push}}
	for i, again := range [][]float64{c.Flicks, c.SetDowns} {
		name := []string{"flicks", "set-downs"}[i]
		r, err := gum.CheckGauge(0, 0, again, gum.NoLimits("mm"), step)
		if len(again) == 0 {
			continue
		} else if err != nil {
			return usagef("three values or more", "--%s: %w", name, err)
		}
		lines = append(lines, fmt.Sprintf("%s repeat to %s (standard deviation of %d)", name, uncertain(r.Repeatability, "mm"), r.N))
		object = append(object, report.Object{{strings.ReplaceAll(name, "-", "_") + "_repeatability", twoDigits(r.Repeatability)}}...)
	}
	return c.file(con, object, lines)
}
