package main

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
)

type analyseCmd struct {
	File  string `arg:"" help:"CSV trace, - for standard input, or a job folder."`
	Round string `arg:"" optional:"" help:"With a job folder: the round, such as as-found-backlash; none: all of them."`
	As    string `help:"What the trace is: backlash, runout, torque, preload or leak-down. Default: runout where the file has angles and no times, else backlash." enum:",backlash,runout,torque,preload,leak-down" default:""`
	JSON  bool   `name:"json" help:"Print one JSON object."`

	Explain bool `help:"Backlash: draw what was seen in the trace, on standard error."`

	Lower       *float64 `help:"Lower limit, in the unit printed."`
	Upper       *float64 `help:"Upper limit, in the unit printed."`
	Resolution  float64  `help:"Resolution of the gauge, in the unit printed; 0: taken from the trace."`
	CosineDeg   float64  `help:"Backlash: tilt of the plunger from the direction of motion, in degrees."`
	RadiusRatio float64  `help:"Backlash: heel radius over contact radius; 0: 1."`
	Target      float64  `help:"Torque: target of the bolts in N·m."`
	MPEPct      float64  `name:"mpe-pct" help:"Torque, preload: permissible error of the torque tool in per cent; 0: unknown, and the limits are not decided."`
	Threshold   float64  `help:"Torque: a pull begins above this many N·m; 0: from the trace."`
	AmbientKPa  float64  `name:"ambient-kpa" help:"Leak-down: air pressure outside in kPa." default:"101.325"`

	flangeFlags
	traceFlags
}

// A result is what one measurement came to, ready to print.
type result struct {
	feature  string
	unit     string
	values   report.Object // what --json prints with the judgement
	headline string        // in place of which
	failed   string        // says that nothing could be measured
	judged   *judgement    // nil: no limits were given, or one is not enough
	rows     [][]string    // a label and a value
	refused  bool
	faults   []analysis.Fault
	notes    []string
	outside  bool
	seen     func() string // draws what was seen in the trace; nil: nothing to draw
}

// object is the result as --json prints it.
func (r result) object() report.Object {
	return slices.Concat(report.Object{{"feature", r.feature}, {"unit", r.unit}}, r.values, report.Object{
		{"refused", r.refused}, {"faults", append([]analysis.Fault{}, r.faults...)}, {"notes", append([]string{}, r.notes...)},
	}, r.judged.object())
}

// carried rounds what is printed beside an expanded uncertainty to what that
// carries; where it is not known, to the digits that the gauge resolves.
func carried(expanded float64, digits int) func(v float64) float64 {
	if !(expanded > 0) {
		expanded = math.Pow10(1 - digits)
	}
	return func(v float64) float64 { return gum.Rounded(v, expanded) }
}

// twoDigits is an uncertainty as it is stated.
func twoDigits(u float64) float64 {
	rounded, _ := gum.RoundU(u)
	return rounded
}

// text prints the verdict, then the numbers behind it and what is doubtful.
func (r result) text(w io.Writer) {
	if r.refused {
		fmt.Fprintln(w, r.failed)
	} else {
		fmt.Fprintln(w, r.headline)
	}
	if r.judged != nil {
		fmt.Fprintln(w, r.judged.sentence())
	}
	printTable(w, r.rows)
	for _, f := range r.faults {
		fmt.Fprintf(w, "  fault: %s%s\n", f, prefixed(": ", feature.FaultText(f)))
	}
	for _, n := range r.notes {
		fmt.Fprintf(w, "  note: %s\n", n)
	}
}

// Run analyses the trace or the job.
func (c *analyseCmd) Run(con *console) error {
	if err := checkLimits(c.Lower, c.Upper); err != nil {
		return err
	}
	if isDir(c.File) {
		return c.analyseJob(con)
	}
	if c.Round != "" {
		return usagef("a round belongs to a job folder", "%q is not a job folder", c.File)
	}
	res, err := c.analyseFile(con)
	if err != nil {
		return err
	}
	if c.Explain && res.seen != nil {
		fmt.Fprint(con.err, res.seen())
	}
	err = con.print(c.JSON, res.object(), res.text)
	return errors.Join(err, outsideIf(res.refused || res.outside || res.judged.outside()))
}

// analyseFile reads the trace as what it is said to be. One with angles and no
// times can only be places of a run-out.
func (c *analyseCmd) analyseFile(con *console) (res result, err error) {
	as := cmp.Or(c.As, "backlash")
	t, err := c.openTrace(con, c.File, traceKinds[as].unit)
	if err != nil {
		return res, err
	}
	defer t.file.Close()
	if (c.As == "" || c.As == "runout") && t.HasAngle && !t.HasTime {
		as = "runout"
	} else if err := t.NeedTime(); err != nil {
		return res, err
	}
	kind := traceKinds[as]
	res, err = kind.measure(c, t)
	res.feature, res.unit, res.failed = as, kind.unit, kind.failed
	res.notes = append(t.unitNotes(), res.notes...)
	return res, err
}

// checkLimits refuses a window that nothing can be inside of.
func checkLimits(lower, upper *float64) error {
	for name, v := range map[string]*float64{"--lower": lower, "--upper": upper} {
		if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
			return usagef("give a finite number", "%s %v is not a limit", name, *v)
		}
	}
	if lower != nil && upper != nil && *lower >= *upper {
		return usagef("lower must be less than upper", "window: --lower %v is not below --upper %v", *lower, *upper)
	}
	return nil
}

// limited is window with the limits given in place of its own.
func limited(window gum.Limits, lower, upper *float64) gum.Limits {
	if lower != nil {
		window.Lower = *lower
	}
	if upper != nil {
		window.Upper = *upper
	}
	return window
}

// judge compares value with the limits given on the command line; nil where
// there are none, or no value.
func (c *analyseCmd) judge(refused bool, value, u float64, unit string) *judgement {
	limits := limited(gum.NoLimits(unit), c.Lower, c.Upper)
	if refused || !limits.Any() {
		return nil
	}
	d := gum.Judge(value, u, limits)
	return &judgement{d.Verdict, d.Probability, feature.ReasonWords(d.Reason), limits}
}

// A judgement is a value against the limits of the command line.
type judgement struct {
	verdict     gum.Verdict
	probability float64
	reason      string // why it is not decided
	limits      gum.Limits
}

// object has the members that stand beside the value's own.
func (j *judgement) object() report.Object {
	if j == nil {
		return nil
	}
	low, high := j.limits.Lower, j.limits.Upper
	return slices.Concat(
		given(!math.IsNaN(low), "lower", low), given(!math.IsNaN(high), "upper", high),
		report.Object{{"verdict", j.verdict}, {"conformance_probability", j.probability}},
		given(j.reason != "", "reason", j.reason),
	)
}

// outside says whether the value is proven outside; without limits it is not.
func (j *judgement) outside() bool { return j != nil && j.verdict == gum.Outside }

// sentence is the verdict with the window in words.
func (j *judgement) sentence() string {
	return fmt.Sprintf("%s%s (%s)", verdictSentence(j.verdict, j.limits), prefixed(": ", j.reason), windowText(j.limits, j.limits.Unit))
}

// analyseJob judges the rounds of a job from what was captured.
func (c *analyseCmd) analyseJob(con *console) error {
	snap, err := readJob(c.File)
	if err != nil {
		return err
	}
	rounds := []report.Object{}
	bad := false // not finished, or outside
	var names, lines []string
	for _, step := range recordedRounds(snap) {
		name := step.Stage + "-" + step.Feature
		names = append(names, name)
		if c.Round != "" && !strings.HasPrefix(c.Round, name) {
			continue
		}
		v := jobRoundView(snap, step)
		rounds = append(rounds, roundSummary(v))
		lines = append(lines, roundSummaryLines(v)...)
		bad = bad || !v.Complete || v.Verdict == gum.Outside
	}
	if len(rounds) == 0 {
		return usagef("recorded: "+strings.Join(names, ", "), "no round %q in %q", c.Round, c.File)
	}
	return errors.Join(con.print(c.JSON, rounds, inLines(lines)), outsideIf(bad))
}

// recordedRounds lists the stages and features with measured values, in the
// order they were first captured.
func recordedRounds(snap *job.Snapshot) []job.Step {
	var steps []job.Step
	for _, capture := range record.Active(snap.Captures) {
		known := slices.ContainsFunc(steps, func(s job.Step) bool {
			return s.Stage == capture.Stage && s.Feature == capture.Feature
		})
		if !known && slices.Contains(record.Features(), capture.Feature) {
			steps = append(steps, job.Step{Assessment: feature.Assessment{Stage: capture.Stage, Feature: capture.Feature}})
		}
	}
	return steps
}

// jobRoundView is a recorded round as the live path would show it.
func jobRoundView(snap *job.Snapshot, step job.Step) logger.View {
	unit, _ := record.UnitOf(step.Feature)
	a := feature.Assess(snap.Sheet, snap.Captures, step.Stage, step.Feature)
	v := logger.View{
		Vehicle: snap.Sheet.Vehicle.Label, Invented: snap.Sheet.Invented,
		Assessment: a, Unit: unit, Window: a.Spec.Limits, Reason: a.Reason(),
		Outcome: job.Outcome{Conclusion: job.Conclusion(snap.Sheet, snap.Captures, step.Stage, step.Feature)},
	}
	if step.Feature == record.FeatureRunoutBackFace {
		v.Advice = v.Conclusion
	}
	for _, p := range feature.Positions(snap.Sheet, step.Feature) {
		pv := logger.PositionView{Position: p, Value: math.NaN()}
		if i := slices.IndexFunc(a.Results, func(r feature.Result) bool { return r.Capture.Position == p.Index }); i >= 0 {
			r := a.Results[i]
			pv.Value, pv.U, pv.Verdict, pv.Word = r.Capture.Value, r.Capture.U, r.Verdict, r.Word
		}
		v.Positions = append(v.Positions, pv)
	}
	return v
}
