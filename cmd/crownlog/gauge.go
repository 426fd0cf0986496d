package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/motion"
	"crownlog/analysis/units"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

type gaugeCmd struct {
	Check gaugeCheckCmd `cmd:"" help:"Check a gauge on a feeler or gauge block of known size: bias, repeatability, Cg and Cgk, certificate."`
	Hand  gaugeHandCmd  `cmd:"" help:"Measure how much of a backlash the push of the hand makes, in place of the figure that is assumed."`
}

// A gaugeJob is the job that a check is filed in and whose sheet it goes by.
type gaugeJob struct {
	Job        string  `help:"Job folder: its job.toml says what is not given here, and the result is filed in it as a note." placeholder:"DIR"`
	Stage      string  `help:"Stage of the job. Default: the one it is at."`
	Resolution float64 `help:"Step of the gauge's display in mm. Default: the job's, or the last digit of the readings."`
	JSON       bool    `name:"json" help:"Print one JSON object."`
	signer
}

// open reads the job's sheet, an empty one without a job, and the step of the gauge
// that gave the readings.
func (g gaugeJob) open(readings []float64) (s sheet.Sheet, step float64, err error) {
	if g.Job != "" {
		snap, err := job.Read(g.Job)
		if err != nil {
			return s, 0, err
		}
		s = snap.Sheet
	}
	digits := 0
	for _, v := range readings {
		digits = max(digits, feature.DecimalsOf(v))
	}
	return s, cmp.Or(g.Resolution, s.Gauge.ResolutionMM, math.Pow10(-digits)), nil
}

// file prints a result and puts it into the job.
func (g gaugeJob) file(con *console, r result) error {
	if err := con.print(g.JSON, r.object(), r.text); err != nil {
		return err
	}
	if g.Job == "" {
		return outsideIf(r.outside)
	}
	note := r.headline
	for _, row := range r.rows {
		note += "; " + strings.TrimSpace(strings.Join(row, " "))
	}
	said := *con
	said.out = &results{to: con.err}
	err := addCapture(&said, g.By, g.Job, g.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		return record.AddNote(f, stage, note, time.Now())
	})
	return errors.Join(err, outsideIf(r.outside))
}

type gaugeCheckCmd struct {
	Size     float64   `arg:"" help:"Known size in mm."`
	Readings []float64 `arg:"" help:"What the gauge reads of it, in mm, the plunger lifted and set down between them: three or more, usually 25."`
	SizeU    float64   `name:"size-uncertainty" help:"Expanded uncertainty of the size in mm, as its certificate says."`
	Lower    *float64  `help:"Lower limit in mm of what the gauge is to decide. Default: the job's backlash."`
	Upper    *float64  `help:"Upper limit in mm. Default: the job's backlash."`
	Due      string    `help:"When the gauge's certificate runs out. Default: a year after the date in job.toml." placeholder:"YYYY-MM-DD"`
	gaugeJob
}

// Run checks the gauge. It is no good where Cg or Cgk is below 1.33, where it is off
// by more than the uncertainty explains, or where its certificate has run out.
func (c *gaugeCheckCmd) Run(con *console) error {
	if err := checkLimits(c.Lower, c.Upper); err != nil {
		return err
	}
	s, step, err := c.open(c.Readings)
	if err != nil {
		return err
	}
	window := limited(s.Window(record.FeatureBacklash).Limits, c.Lower, c.Upper)
	due, err := time.Parse(time.DateOnly, cmp.Or(c.Due, s.Gauge.Calibrated))
	switch {
	case err != nil && c.Due != "":
		return usagef("write it as 2027-03-31", "--due %q is no date", c.Due)
	case err == nil && c.Due == "":
		due = due.AddDate(1, 0, 0)
	}
	g, err := gum.CheckGauge(c.Size, c.SizeU/gum.Coverage, c.Readings, window, step)
	if err != nil {
		return usagef("give the size, then what was read of it", "%w", err)
	}
	expanded := gum.Coverage * g.BiasU
	enough, overdue := math.IsNaN(g.Cg) || math.Min(g.Cg, g.Cgk) >= gum.EnoughCg, !due.IsZero() && due.Before(time.Now())
	r := result{
		feature: "gauge-check", unit: "mm", outside: g.Off || !enough || overdue,
		headline: fmt.Sprintf("Gauge check%s at %s: bias %s, %s by the uncertainty", prefixed(" of ", s.Gauge.Label), show(c.Size, "mm"), withDoubt(g.Bias, expanded, 4, "mm"), words.Given(g.Off, "NOT ")+"explained"),
		rows:     [][]string{{"  repeatability", fmt.Sprintf("%s from %s", uncertain(g.Repeatability, "mm"), count(g.N, "reading"))}},
		values: report.Object{
			{"size", c.Size}, {"n", g.N}, {"bias", gum.Rounded(g.Bias, expanded)}, {"expanded_uncertainty", gum.RoundedU(expanded)}, {"off", g.Off},
			{"repeatability", gum.RoundedU(g.Repeatability)}, {"cg", gum.Rounded(g.Cg, 0.1)}, {"cgk", gum.Rounded(g.Cgk, 0.1)}, {"enough", enough},
			{"certificate_due", due}, {"overdue", overdue},
		},
	}
	if !math.IsNaN(g.Cg) {
		r.rows = append(r.rows, []string{"  Cg, Cgk", fmt.Sprintf("%.2f, %.2f: %s for %s", g.Cg, g.Cgk, words.Given(!enough, "NOT ")+"good enough", windowText(window, "mm"))})
	}
	if !due.IsZero() {
		is := words.Given(overdue, "OVERDUE since ") + words.Given(!overdue, "due ")
		r.rows = append(r.rows, []string{"  certificate", is + due.Format(time.DateOnly)})
	}
	if g.N < gum.UsualRepeats {
		r.notes = []string{fmt.Sprintf("%d readings are usual: fewer tell the repeatability less surely", gum.UsualRepeats)}
	}
	return c.file(con, r)
}

type gaugeHandCmd struct {
	Light    []float64 `help:"Backlash in mm under a light push at both stops, at three places or more, with commas between them." placeholder:"MM,..."`
	Firm     []float64 `help:"The same under a firm push, at the same places." placeholder:"MM,..."`
	Flicks   []float64 `help:"What the gauge shows each time the stem was flicked and came back." placeholder:"MM,..."`
	SetDowns []float64 `help:"Backlash at one place, the plunger set down anew each time." placeholder:"MM,..."`
	Port     string    `help:"Port of the gauge to read all of them from: it is said what to do, and each is taken once the reading stands."`
	Gauge    string    `help:"Its profile, by name or file. Default: the job's, or text."`
	gaugeJob
}

// Run says what the hand makes of a backlash, and how the plunger comes back.
func (c *gaugeHandCmd) Run(ctx context.Context, con *console) error {
	typed := slices.Concat(c.Light, c.Firm, c.Flicks, c.SetDowns)
	if c.Port != "" && len(typed) > 0 {
		return usagef("take one of them", "--port and typed values exclude each other")
	}
	s, step, err := c.open(typed)
	if err == nil && c.Port != "" {
		step, err = c.read(ctx, con, s)
	}
	if err != nil {
		return err
	}
	h, err := gum.CheckHand(c.Light, c.Firm, step)
	if err != nil {
		return usagef("three places or more, each with both pushes; or --port to read the gauge", "%w", err)
	}
	expanded := gum.Coverage * h.GiveU
	push := gum.RoundedU(h.Push)
	r := result{
		feature: "hand-check", unit: "mm",
		headline: fmt.Sprintf("Hand check: a firm push reads %s more than a light one, both stops together", withDoubt(h.Give, expanded, 4, "mm")),
		values:   report.Object{{"give", gum.Rounded(h.Give, expanded)}, {"expanded_uncertainty", gum.RoundedU(expanded)}},
		notes:    []string{"it counts once [plunger] of job.toml says push_mm = " + units.Exact(push) + ", until the gauge is set up anew"},
	}
	r.add("a usual push may add", "push_mm", uncertain(push, "mm"), push)
	for i, again := range [][]float64{c.Flicks, c.SetDowns} {
		name := []string{"flicks", "set-downs"}[i]
		g, err := gum.CheckGauge(0, 0, again, gum.NoLimits("mm"), step)
		if len(again) == 0 {
			continue
		} else if err != nil {
			return usagef("three values or more", "--%s: %w", name, err)
		}
		member := strings.ReplaceAll(name, "-", "_") + "_repeatability"
		r.add(name+" repeat to", member, uncertain(g.Repeatability, "mm"), gum.RoundedU(g.Repeatability))
	}
	return c.file(con, r)
}

// leastSwing is how far, in mm, a reading goes at least between two stops or when the
// stem is flicked: no gear has less backlash, and no push makes as much.
const leastSwing = 0.03

// A handStep is one rest of the hand check.
type handStep struct {
	say   string
	moved float64    // how far the reading goes on the way, mm
	other bool       // it ends at the other stop
	into  *[]float64 // where the rest goes, or how far it lies from the one before; nil: nowhere
}

// steps are the rests that are asked for: three flicks, three rocks with either push,
// five placements of the plunger.
func (c *gaugeHandCmd) steps() []handStep {
	flick := handStep{"Flick the stem and let it rest.", leastSwing, false, &c.Flicks}
	rock := []handStep{
		{"Push LIGHTLY against the other stop, and hold.", leastSwing, true, nil},
		{"LIGHTLY back against the first stop, and hold.", leastSwing, true, &c.Light},
		{"FIRMLY against the other stop, and hold.", leastSwing, true, nil},
		{"FIRMLY back against the first stop, and hold.", leastSwing, true, &c.Firm},
	}
	place := []handStep{
		{"Lift the plunger and set it down anew on its tooth, wheel against a stop.", motion.DefaultLift, false, nil},
		{"Against the other stop, and hold.", leastSwing, true, &c.SetDowns},
	}
	return slices.Concat(
		[]handStep{{say: "Wheel against one stop, plunger on its tooth. Hands off."}, flick, flick, flick},
		slices.Repeat(rock, 3), slices.Repeat(place, 5))
}

// read takes all values from the gauge, each once its reading stands, and returns
// the step of its display in mm. Where it fails nothing has been kept.
func (c *gaugeHandCmd) read(ctx context.Context, con *console, s sheet.Sheet) (step float64, err error) {
	profile, err := findProfile(con, cmp.Or(c.Gauge, s.Gauge.Profile, "text"))
	if err != nil {
		return 0, err
	}
	gauges := live.Start(ctx, device.NewGauge(c.Port, profile.On(c.Port), device.PortOpener(c.Port, profile.Serial), time.Now))
	defer gauges.Stop()
	base, last, steps := math.NaN(), 0.0, c.steps()
	start, said, digits, asked := time.Now(), device.EventReading, 0, -1
	var standing motion.Standing
	for i := 0; i < len(steps); {
		if asked < i {
			asked = i
			fmt.Fprintf(con.err, "\n%d/%d  %s\n", i+1, len(steps), strings.ToUpper(steps[i].say))
		}
		var ev device.Event
		select {
		case <-ctx.Done():
			con.say("stopped: nothing is kept")
			return 0, errOutside
		case err := <-gauges.Failed():
			return 0, err
		case ev = <-gauges.Events():
		}
		rd := ev.Reading
		mm, err := units.Convert(1, cmp.Or(rd.Unit, profile.Unit, "mm"), "mm")
		switch {
		case ev.Kind == device.EventLost:
			return 0, devicef("check the cable and start again: nothing is kept", "the gauge is gone: %s", ev.Text)
		case ev.Kind != device.EventReading:
			if ev.Kind != said { // of a kind once, until it reads again
				con.say("%s: %s", ev.Kind, ev.Text)
			}
			said = ev.Kind
			continue
		case err != nil || rd.Flags&frame.FlagPress != 0:
			return 0, usagef("choose its profile with --gauge, or type the values", "no gauge that sends a length all the time")
		case rd.Flags&(frame.FlagHold|frame.FlagDuplicate|frame.FlagOverRange) != 0:
			continue
		}
		said, digits = ev.Kind, max(digits, feature.DecimalsOf(rd.Value))
		standing.Step = cmp.Or(c.Resolution, mm*profile.Resolution, s.Gauge.ResolutionMM, mm*math.Pow10(-digits))
		level, moved, rested := standing.Add(analysis.Sample{T: rd.Time.Sub(start).Seconds(), X: mm * rd.Value})
		to, value := steps[i], level
		if to.other {
			value = math.Abs(level - last)
		}
		switch {
		case !rested || moved < to.moved || to.other && value < leastSwing:
			continue
		case math.Abs(level-base) > motion.DefaultLift:
			con.say("%s is not counted: the plunger is off its tooth", show(level, "mm"))
			continue
		case i == 0:
			base = level
		case to.into != nil:
			*to.into = append(*to.into, value)
			fmt.Fprintf(con.err, "      %s\n", show(value, "mm"))
		}
		last = level
		i++
	}
	return standing.Step, nil
}
