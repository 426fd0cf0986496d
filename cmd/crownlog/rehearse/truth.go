package rehearse

import (
	"fmt"
	"io"
	"math"
	"text/tabwriter"

	"crownlog/cmd/crownlog/live"
	"crownlog/device/simbench"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// A truth is what was measured, with what the bench knows.
type truth struct {
	stage, feature, place, unit string
	measured, actual            float64
}

// closeEnough is what a backlash of a rehearsal may be off, in mm.
const closeEnough = 0.010

// noteTruth keeps the truth beside a feature that is measured as a whole.
func (r *Rehearsal) noteTruth(step job.Step, t task, out live.Outcome) {
	actual, measured := math.NaN(), out.View.Round.Mean
	switch {
	case step.Feature == record.FeaturePreloadPinion, step.Feature == record.FeaturePreloadTotal:
		actual = r.Bench.RunningTorque()
	case step.Feature == record.FeatureLeakDown:
		actual = r.Bench.LeakRate()
	case t.mount == simbench.BackFace, t.mount == simbench.Flange:
		a := feature.Assess(r.Folder.Sheet(), r.Folder.Captures(), step.Stage, step.Feature)
		if a.Runout == nil {
			return
		}
		measured, actual = a.Value, r.runoutTruth(step, t)
	}
	if !math.IsNaN(actual) {
		unit, _ := record.UnitOf(step.Feature)
		r.truths = append(r.truths, truth{step.Stage, step.Feature, "", unit, measured, actual})
	}
}

// runoutTruth is the full indicator movement in mm over the places the
// indicator stood at, or over the whole turn.
func (r *Rehearsal) runoutTruth(step job.Step, t task) float64 {
	places := feature.Positions(r.Folder.Sheet(), step.Feature)
	if t.turning {
		places = nil
		for deg := range 360 {
			places = append(places, record.Position{AngleDeg: float64(deg)})
		}
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range places {
		x := r.Bench.SurfaceAt(t.mount, p.AngleDeg)
		low, high = math.Min(low, x), math.Max(high, x)
	}
	return high - low
}

// printTruths prints what was measured beside the truth and returns the worst
// difference of a backlash in mm.
func printTruths(w io.Writer, truths []truth) float64 {
	if len(truths) == 0 {
		return 0
	}
	worst, n := 0.0, 0
	fmt.Fprintln(w, "\nWhat was measured beside what the bench knows:")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "stage\tfeature\tplace\tmeasured\ttruth\tdifference\tunit\t")
	for _, b := range truths {
		diff := b.measured - b.actual
		if b.feature == record.FeatureBacklash {
			worst = math.Max(worst, math.Abs(diff))
			n++
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%.4f\t%.4f\t%+.4f\t%s\t\n", b.stage, b.feature, b.place, b.measured, b.actual, diff, b.unit)
	}
	t.Flush()
	fmt.Fprintf(w, "%d backlash values, worst difference %.4f mm (limit %.3f)\n", n, worst, closeEnough)
	return worst
}
