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
	"crownlog/logger/export"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/words"
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

	export.Mapping
}

// A result is what one measurement came to, ready to print.
type result struct {
	feature  string
	unit     string
	values   report.Object // what --json prints with the judgement
	headline string        // in their place
	judged   *judgement    // nil: no limits were given, or one is not enough
	rows     [][]string    // a label and a value
	refused  bool
	faults   []analysis.Fault
	notes    []string
	outside  bool
	seen     func() string // draws what was seen in the trace; nil: nothing to draw

	digits   int     // as many decimals as the gauge resolves
	expanded float64 // uncertainty of what it is of
}

// add puts a figure behind the others: shown behind its label, and v in JSON under
// that name.
func (r *result) add(label, name, shown string, v any) {
	r.rows = append(r.rows, []string{"  " + label, shown})
	r.values = append(r.values, given(true, name, v)...)
}

// figure adds a number that is as uncertain as what the result is of.
func (r *result) figure(label, name string, v float64) {
	r.add(label, name, decimal(v, r.digits, r.unit), r.carried(v))
}

// carried rounds what is printed beside the expanded uncertainty.
func (r *result) carried(v float64) float64 { return gum.Carried(v, r.expanded, r.digits) }

// object is the result as --json prints it.
func (r *result) object() report.Object {
	return slices.Concat(report.Object{{"feature", r.feature}, {"unit", r.unit}}, r.values, report.Object{
		{"refused", r.refused}, {"faults", append([]analysis.Fault{}, r.faults...)}, {"notes", append([]string{}, r.notes...)},
	}, r.judged.object())
}

// text prints the verdict, then the numbers behind it and what is doubtful.
func (r *result) text(w io.Writer) {
	fmt.Fprintln(w, r.headline)
	if r.judged != nil {
		fmt.Fprintln(w, r.judged.sentence())
	}
	printTable(w, r.rows)
	for _, f := range r.faults {
		fmt.Fprintf(w, "  fault: %s%s\n", f, prefixed(": ", words.Fault(f)))
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
func (c *analyseCmd) analyseFile(con *console) (*result, error) {
	as := cmp.Or(c.As, "backlash")
	t, err := openTrace(con, c.File, traceKinds[as].unit, c.Mapping)
	if err != nil {
		return nil, err
	}
	defer t.file.Close()
	if (c.As == "" || c.As == "runout") && t.HasAngle && !t.HasTime {
		as = "runout"
	} else if err := t.NeedTime(); err != nil {
		return nil, err
	}
	kind := traceKinds[as]
	r := &result{feature: as, unit: kind.unit}
	if err := kind.measure(c, t, r); err != nil {
		return nil, err
	}
	if r.refused {
		r.headline = kind.failed
	}
	r.notes = append(t.unitNotes(), r.notes...)
	return r, nil
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

// state puts what r is of, v with its uncertainty in a unit, in front of the figures
// there are already and its uncertainties behind them, and judges it by the limits given.
func (c *analyseCmd) state(r *result, name string, v float64, nameU string, u float64, unit string) {
	r.values = append(given(true, name, r.carried(v)), r.values...)
	r.add("standard uncertainty", nameU, uncertain(u, unit), gum.RoundedU(u))
	r.values = append(r.values, given(true, "expanded_uncertainty", gum.RoundedU(r.expanded))...)
	if !r.refused {
		r.judged = c.judge(v, u, unit)
	}
}

// judge compares value with the limits given on the command line; nil where
// there are none.
func (c *analyseCmd) judge(value, u float64, unit string) *judgement {
	limits := limited(gum.NoLimits(unit), c.Lower, c.Upper)
	if !limits.Any() {
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
	snap, err := job.Read(c.File)
	if err != nil {
		return err
	}
	rounds := []report.Object{}
	bad := false // not finished, or outside
	var names, lines []string
	for _, a := range recordedRounds(snap) {
		name := a.Stage + "-" + a.Feature
		names = append(names, name)
		if c.Round != "" && !strings.HasPrefix(c.Round, name) {
			continue
		}
		v := logger.View{Assessment: a, Invented: snap.Sheet.Invented, Window: a.Spec.Limits, Reason: a.Reason()}
		v.Printed = snap.Sheet.InStage(a.Stage).PrintedWindow(a.Feature)
		if v.Conclusion = job.Conclusion(snap.Sheet, snap.Captures, a.Stage, a.Feature); a.Feature == record.FeatureRunoutBackFace {
			v.Advice = v.Conclusion
		}
		v.Positions = report.Each(feature.Positions(snap.Sheet, a.Feature), func(p record.Position) logger.PositionView {
			return logger.PositionView{Position: p}
		})
		rounds = append(rounds, roundSummary(v))
		lines = append(lines, roundSummaryLines(v)...)
		bad = bad || !v.Complete || v.Verdict == gum.Outside
	}
	if len(rounds) == 0 {
		return usagef("recorded: "+strings.Join(names, ", "), "no round %q in %q", c.Round, c.File)
	}
	return errors.Join(con.print(c.JSON, rounds, inLines(lines)), outsideIf(bad))
}

// recordedRounds is what is known of each stage and feature with measured values, in
// the order they were first captured.
func recordedRounds(snap *job.Snapshot) (all []feature.Assessment) {
	for _, capture := range record.Active(snap.Captures) {
		known := slices.ContainsFunc(all, func(a feature.Assessment) bool {
			return a.Stage == capture.Stage && a.Feature == capture.Feature
		})
		if !known && slices.Contains(record.Features(), capture.Feature) {
			all = append(all, feature.Assess(snap.Sheet, snap.Captures, capture.Stage, capture.Feature))
		}
	}
	return all
}
