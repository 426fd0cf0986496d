package rehearse

import (
	"slices"
	"time"

	"crownlog/device"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// A benchGauge is a gauge of the bench as the job knows it.
type benchGauge struct {
	label, profile string
	instrument     *simbench.Instrument
}

// A task is how one feature is measured on the bench.
type task struct {
	gauges  []benchGauge     // the first one's readings become captures
	mount   simbench.Mount   // where the indicator stands; "": no indicator
	turning bool             // one steady turn in place of positions
	keyed   []logger.Command // what is typed in where there is no gauge
}

// taskFor is false for what nobody does in a rehearsal.
func taskFor(feature string, b *simbench.Bench) (task, bool) {
	dial := []benchGauge{{"indicator", "text", b.Indicator}}
	wrench := []benchGauge{{"wrench", "torque-text", b.Wrench}}
	meter := []benchGauge{{"torque meter", "torque-text", b.Preload}}
	air := []benchGauge{{"air gauge", "pressure-text", b.Pressure}, {"thermometer", "text", b.Thermometer}}
	t, ok := map[string]task{
		record.FeatureBacklash:       {gauges: dial, mount: simbench.Tooth},
		record.FeatureRunoutBackFace: {gauges: dial, mount: simbench.BackFace},
		record.FeatureRunoutFlange:   {gauges: dial, mount: simbench.Flange, turning: true},
		record.FeatureWheelBolts:     {gauges: wrench},
		record.FeatureCapBolts:       {gauges: wrench},
		record.FeaturePreloadPinion:  {gauges: meter},
		record.FeaturePreloadTotal:   {gauges: meter},
		record.FeatureLeakDown:       {gauges: air},
		record.FeaturePatternDrive:   {keyed: []logger.Command{logger.CmdPattern(0.1, 0.05)}},
		record.FeaturePatternCoast:   {keyed: []logger.Command{logger.CmdPattern(-0.05, 0)}},
		record.FeatureEngagement:     {keyed: []logger.Command{logger.CmdKeyed(0.6, ""), logger.CmdKeyed(0.5, ""), logger.CmdKeyed(0.6, "")}},
		record.FeatureCloseUp:        {keyed: slices.Repeat([]logger.Command{logger.CmdKeyed(1, "")}, 3)},
		record.FeatureOilFill:        {keyed: []logger.Command{logger.CmdKeyed(1.9, "")}},
	}[feature]
	return t, ok
}

// What the hands do with the other gauges.
const (
	steadyTurns  = 2
	preloadTurns = 5
	testPressure = 620 // kPa
	patience     = 5 * time.Second
	ontoFirst    = 60 // degrees that the wheel is turned to come to the first place of a run-out
)

// A fitter tells the simulated hands what to do as a round goes on.
type fitter struct {
	r         *Rehearsal
	step      job.Step
	task      task
	positions []record.Position
	stored    map[int]bool // positions that are
	at        int          // index of the position the hands are at
	idle      time.Time    // since when the hands have had nothing to do; zero: they have
	pulls     []float64    // N·m, of the bolts still to be pulled
}

func newFitter(r *Rehearsal, step job.Step, t task) *fitter {
	f := &fitter{r: r, step: step, task: t, positions: feature.Positions(r.Folder.Sheet(), step.Feature), stored: map[int]bool{}}
	if b, ok := r.Folder.Sheet().BoltList(step.Feature); ok {
		for _, share := range b.Passes() {
			for range b.Order() {
				f.pulls = append(f.pulls, b.Setting(b.TargetNm()*share))
			}
		}
	}
	return f
}

// start puts the hands to work.
func (f *fitter) start() {
	bench := f.r.Bench
	switch {
	case len(f.pulls) > 0:
		f.pull()
	case f.step.Feature == record.FeatureLeakDown:
		bench.Do(simbench.Pressurise(testPressure))
	case f.task.mount == "":
		bench.Do(simbench.PreloadTurn(preloadTurns))
	case f.task.turning:
		bench.Do(simbench.Stand(f.task.mount), simbench.SteadyTurn(steadyTurns))
	default:
		bench.Do(simbench.Stand(f.task.mount))
		if f.task.mount == simbench.BackFace {
			bench.Do(simbench.TurnTo(f.positions[0].AngleDeg - ontoFirst))
		}
		f.turnTo(f.positions[0])
		if f.task.mount == simbench.Tooth {
			bench.Do(simbench.Rock())
		}
	}
}

// handled answers a gauge's line once the round has dealt with it: the bench
// goes on, unless the round is done.
func (f *fitter) handled(round *logger.Round, ev device.Event) error {
	if (f.levels() || f.task.turning) && !f.r.ByKey && !round.Done() {
		if err := f.pressWhenIdle(round, ev); err != nil {
			return err
		}
	}
	if round.Done() || (ev.Kind != device.EventReading && ev.Kind != device.EventGarbled) {
		return nil
	}
	for _, g := range f.task.gauges {
		if g.label == ev.Gauge {
			g.instrument.Ack()
		}
	}
	return nil
}

// follow answers what happened in the round: it notes the truth beside a backlash,
// and goes on to the next place.
func (f *fitter) follow(ev logger.Event) {
	switch ev.Kind {
	case logger.EventCaptured:
		if f.step.Feature == record.FeatureBacklash {
			actual := f.r.Bench.TruthAt(ev.Position.AngleDeg)
			f.r.truths = append(f.r.truths, truth{f.step.Stage, ev.Position.Label, ev.Capture.Value, actual})
		}
		f.stored[ev.Position.Index] = true
		if len(f.pulls) > 0 {
			f.pull()
		} else if next, ok := f.next(); ok && f.indexed() && !f.r.ByKey {
			f.turnTo(next)
		}
	case logger.EventUndone:
		delete(f.stored, ev.Position.Index)
	case logger.EventPosition:
		if f.indexed() && ev.Position.Index != f.at {
			f.turnTo(ev.Position)
		}
	}
}

// pressWhenIdle presses the key where the hands are idle and nothing is taken by
// itself: after a steady turn, at the first place, and where the next is so level
// that no turn was seen.
func (f *fitter) pressWhenIdle(round *logger.Round, ev device.Event) error {
	if !f.r.Bench.Idle() {
		f.idle = time.Time{}
		return nil
	}
	if f.idle.IsZero() {
		f.idle = ev.Time
	}
	if !f.task.turning && ev.Time.Sub(f.idle) < patience {
		return nil
	}
	f.idle = time.Time{}
	return round.Command(logger.CmdCapture)
}

// levels reports whether the feature is a run-out taken place by place.
func (f *fitter) levels() bool { return f.indexed() && f.task.mount != simbench.Tooth }

// indexed reports whether the wheel is turned from position to position.
func (f *fitter) indexed() bool { return f.task.mount != "" && !f.task.turning }

// next is the place after the present one that is not measured yet.
func (f *fitter) next() (record.Position, bool) {
	for i := range f.positions {
		if p := f.positions[(f.at+i)%len(f.positions)]; !f.stored[p.Index] {
			return p, true
		}
	}
	return record.Position{}, false
}

func (f *fitter) turnTo(p record.Position) {
	f.at = p.Index
	f.r.Lesson.turned(p.AngleDeg)
	f.r.Bench.Do(simbench.TurnTo(p.AngleDeg))
}

func (f *fitter) pull() {
	f.r.Bench.Do(simbench.PullBolt(f.pulls[0]))
	f.pulls = f.pulls[1:]
}
