package main

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"crownlog/device/simbench"
	"crownlog/logger"
)

// A task is how one feature is measured on the bench.
type task struct {
	label   string // of the gauge
	profile string
	gauge   func(*simbench.Bench) *simbench.Instrument
	mount   simbench.Mount // of the indicator
}

// taskFor is false for what the simulated hands leave to a person: contact
// patterns, engagement, oil.
func taskFor(feature string) (task, bool) {
	dial := func(m simbench.Mount) task {
		return task{"indicator", "text", (*simbench.Bench).Indicator, m}
	}
	switch feature {
	case logger.FeatureBacklash:
		return dial(simbench.Tooth), true
	case logger.FeatureRunoutBackFace:
		return dial(simbench.BackFace), true
	case logger.FeatureRunoutFlange:
		return dial(simbench.Flange), true
	case logger.FeatureWheelBolts, logger.FeatureCapBolts:
		return task{"wrench", "torque-text", (*simbench.Bench).Wrench, ""}, true
	case logger.FeaturePreloadTotal:
		return task{"torque meter", "torque-text", (*simbench.Bench).Preload, ""}, true
	case logger.FeatureLeakDown:
		return task{"air gauge", "pressure-text", (*simbench.Bench).Pressure, ""}, true
	}
	return task{}, false
}

// What the hands do without an indicator.
const (
	preloadTurns = 5
	testPressure = 620 // kPa
)

// A fitter tells the simulated hands what to do as the round goes on.
type fitter struct {
	r         *rehearsal
	step      logger.Step
	task      task
	positions []logger.Position
	stored    map[int]bool // positions that are
	at        int          // position the hands are at
	pulls     []float64    // N·m, of the bolts still to be pulled
}

func newFitter(r *rehearsal, step logger.Step, t task) *fitter {
	f := &fitter{r: r, step: step, task: t, positions: r.sheet.PositionList(step.Feature), stored: map[int]bool{}}
	if b, ok := r.sheet.BoltList(step.Feature); ok {
		for _, share := range b.Passes() {
			for range b.Order() {
				f.pulls = append(f.pulls, b.Setting(b.TargetNm()*share))
			}
		}
	}
	return f
}

// start puts the hands to the first position.
func (f *fitter) start() {
	bench := f.r.bench
	switch f.step.Feature {
	case logger.FeatureWheelBolts, logger.FeatureCapBolts:
		f.pull()
	case logger.FeaturePreloadTotal:
		bench.Do(simbench.PreloadTurn(preloadTurns))
	case logger.FeatureLeakDown:
		bench.Do(simbench.Pressurise(testPressure))
	default:
		bench.Do(simbench.Stand(f.task.mount))
		f.turnTo(f.positions[0])
		if f.task.mount == simbench.Tooth {
			bench.Do(simbench.Rock())
		}
	}
}

// hear answers what happened in the round.
func (f *fitter) hear(ev logger.Event) {
	switch ev.Kind {
	case logger.EventCaptured:
		f.captured(ev)
	case logger.EventUndone:
		delete(f.stored, ev.Position.Index)
	case logger.EventPosition:
		if f.task.mount != "" && ev.Position.Index != f.at {
			f.turnTo(ev.Position)
		}
	}
}

// captured notes the truth beside a backlash and goes on to the next place.
func (f *fitter) captured(ev logger.Event) {
	if f.step.Feature == logger.FeatureBacklash {
		f.r.truths = append(f.r.truths, truth{
			stage: f.step.Stage, position: ev.Position, measured: ev.Capture.Value,
			actual: f.r.bench.TruthAt(ev.Position.AngleDeg),
		})
	}
	f.stored[ev.Position.Index] = true
	switch {
	case len(f.pulls) > 0:
		f.pull()
	case f.task.mount != "" && !f.r.byKey:
		if next, ok := f.next(); ok {
			f.turnTo(next)
		}
	}
}

// next is the place after the present one that is not measured yet.
func (f *fitter) next() (logger.Position, bool) {
	for i := range f.positions {
		p := f.positions[(f.at+i)%len(f.positions)]
		if !f.stored[p.Index] {
			return p, true
		}
	}
	return logger.Position{}, false
}

func (f *fitter) turnTo(p logger.Position) {
	f.at = p.Index
	f.r.bench.Do(simbench.TurnTo(p.AngleDeg))
}

func (f *fitter) pull() {
	f.r.bench.Do(simbench.PullBolt(f.pulls[0]))
	f.pulls = f.pulls[1:]
}

// A truth is a captured backlash with what it was measured from, in mm.
type truth struct {
	stage            string
	position         logger.Position
	measured, actual float64
}

// closeEnough is what a rehearsal may be off, in mm.
const closeEnough = 0.010

// printTruths prints what was measured beside the truth and returns the worst
// difference in mm.
func printTruths(w io.Writer, truths []truth) float64 {
	if len(truths) == 0 {
		return 0
	}
	worst := 0.0
	fmt.Fprintln(w, "\nThe bench's truth beside what was measured, mm")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "stage\tposition\tangle\tmeasured\ttruth\tdifference\t")
	for _, b := range truths {
		diff := b.measured - b.actual
		worst = math.Max(worst, math.Abs(diff))
		fmt.Fprintf(t, "%s\t%d\t%s\t%.4f\t%.4f\t%+.4f\t\n", b.stage, b.position.Index, b.position.Label, b.measured, b.actual, diff)
	}
	t.Flush()
	fmt.Fprintf(w, "%d captures, worst difference %.4f mm (limit %.3f)\n", len(truths), worst, closeEnough)
	return worst
}
