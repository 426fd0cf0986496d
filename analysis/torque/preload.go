package torque

import (
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
	"crownlog/analysis/motion"
)

// PreloadOptions says how the bearing was turned. Zero values are fine.
type PreloadOptions struct {
	Resolution float64 // N·m; 0: taken from the readings
	MPEPercent float64 // permissible error of the wrench, per cent, half width; 0: none counted
}

// Preload is the torque that turns a bearing. Torques are N·m.
type Preload struct {
	Running             float64 // median of the steady part over whole turns; NaN when refused
	Breakaway           float64 // peak at starting; NaN: none stood out
	PeakToPeak          float64 // of the steady part, the gauge's noise smoothed off
	StandardUncertainty float64 // twice it covers 95 %; NaN: nothing is known of the wrench
	Refused             bool
	Faults              []analysis.Fault
	Notes               []analysis.Note
}

func refusedPreload(f analysis.Fault, why analysis.Note) Preload {
	nan := math.NaN()
	return Preload{nan, nan, nan, nan, true, []analysis.Fault{f}, []analysis.Note{why}}
}

// MeasurePreload takes the running torque out of a trace in N·m: the median of
// the steady part over as many whole turns as it holds, apart from the
// breakaway at the start. Either direction of turning will do. It refuses a
// trace with fewer than ten readings or less than a second of steady turning.
// Source: heavy-axle handbooks (running, not starting, torque); JCGM 100 4.2.
func MeasurePreload(samples []analysis.Sample, o PreloadOptions) Preload {
	s, gaps := cleanSamples(samples)
	if len(s) < 10 {
		return refusedPreload(analysis.TooShort, analysis.FewReadings.Of(float64(len(s))))
	}
	level := runningGuess(s)
	if !(level > 0) {
		return refusedPreload(analysis.NotSteady, analysis.NoTorque.Of())
	}
	from, to := longestMotion(s, level/2)
	motion := s[from:to]
	if len(motion) < 10 || analysis.Span(motion) < 1 {
		return refusedPreload(analysis.TooShort, analysis.ShortTurning.Of())
	}
	start, end := steadyOf(motion)
	steady := motion[start:end]
	if len(steady) < 8 || analysis.Span(steady) < 0.8 {
		return refusedPreload(analysis.NotSteady, analysis.NeverSettled.Of())
	}
	p := Preload{Breakaway: math.NaN(), Faults: []analysis.Fault{}, Notes: []analysis.Note{}}
	if gaps > 0 {
		p.Faults = append(p.Faults, analysis.Gaps)
		p.Notes = append(p.Notes, analysis.ReadingGaps.Of(float64(gaps)))
	}
	p.steadyPart(steady, o)
	p.breakaway(s[:from+start], steady)
	p.trend(steady)
	return p
}

// cleanSamples drops what InOrder does, counts gaps of more than half a second,
// and turns a negative trace over.
func cleanSamples(samples []analysis.Sample) (s []analysis.Sample, gaps int) {
	s, gaps = analysis.InOrder(samples, analysis.Sample.Reading, 0.5)
	if stat.Mean(analysis.Values(s)) < 0 {
		for i := range s {
			s[i].X = -s[i].X
		}
	}
	return s, gaps
}

// runningGuess is the median of what is clearly above rest.
func runningGuess(s []analysis.Sample) float64 {
	x := analysis.Values(s)
	slices.Sort(x)
	top := stat.SortedQuantile(x, 0.9)
	i, _ := slices.BinarySearch(x, top/4)
	return stat.SortedQuantile(x[i:], 0.5)
}

// longestMotion returns the longest stretch above the level, in time, with
// dips of less than a fifth of a second left in.
func longestMotion(s []analysis.Sample, level float64) (from, to int) {
	begin, last := -1, -1
	keep := func() {
		if begin >= 0 && s[last].T-s[begin].T >= analysis.Span(s[from:to]) {
			from, to = begin, last+1
		}
	}
	for i, q := range s {
		if q.X < level {
			continue
		}
		if begin < 0 || (last < i-1 && q.T-s[last].T > 0.2) {
			keep()
			begin = i
		}
		last = i
	}
	keep()
	return from, to
}

// steadyOf returns the part of the motion between the breakaway, or the rise from
// rest, and the fall to rest: what comes after the highest torque of the first part,
// where that stands out of the second half, and lies where that half does.
func steadyOf(motion []analysis.Sample) (from, to int) {
	half, span := len(motion)/2, analysis.Span(motion)
	late := analysis.Values(motion[half:])
	slices.Sort(late)
	low, middle, high := stat.SortedQuantile(late, 0.05), stat.SortedQuantile(late, 0.5), stat.SortedQuantile(late, 0.95)
	bottom := low - (middle-low)/2 // beyond the ripple by half as much again
	for i, q := range motion {
		if q.T-motion[0].T <= math.Max(0.3*span, math.Min(2, span/2)) && q.X > motion[from].X {
			from = i
		}
	}
	if motion[from].X <= high+(high-middle)/2 {
		from = 0
	}
	for from < half && (motion[from].X > high || motion[from].X < bottom) {
		from++
	}
	// The tail of a peak: as long again as it takes to come down.
	for tail := motion[from].T + math.Min(0.25, span/10); from < half && motion[from].T < tail; {
		from++
	}
	for to = len(motion); to > from+1 && motion[to-1].X < bottom; {
		to--
	}
	return from, to
}

// steadyPart fills in the running torque and its ripple.
func (p *Preload) steadyPart(steady []analysis.Sample, o PreloadOptions) {
	whole, period := wholeTurns(steady)
	if period == 0 {
		p.Notes = append(p.Notes, analysis.NoRipple.Of())
	}
	x := analysis.Values(whole)
	p.Running = stat.Median(x)
	smooth := stat.Smoothed(x, max(1, len(x)/200))
	p.PeakToPeak = stat.Quantile(smooth, 0.995) - stat.Quantile(smooth, 0.005)
	p.StandardUncertainty = runningU(whole, period, p.Running, p.PeakToPeak, o)
}

// wholeTurns returns the last whole turns of the steady part and how long one
// takes; all of it and 0 where the ripple shows no turn: what was not turned through
// twice may be part of one, and a third of the variance is what the noise may feign.
func wholeTurns(steady []analysis.Sample) (whole []analysis.Sample, period float64) {
	t := motion.FindTurn(steady)
	turns := math.Floor(analysis.Span(steady)/t.Period + 0.02)
	if t.Turns < 1.9 || !(t.Explained > 0.3) || turns < 1 {
		return steady, 0
	}
	// Part of a turn with a drift in it looks like several: what repeats does so
	// without one.
	if fit, err := ripple(steady, t.Period); err != nil || fit.ResidualSD > 0.8*stat.StdDev(analysis.Values(steady)) {
		return steady, 0
	}
	i, end := 0, steady[len(steady)-1].T
	for end-steady[i].T > turns*t.Period {
		i++
	}
	return steady[i:], t.Period
}

// Over a turn the drag of a sound bearing goes up and down by up to unseenShare of
// itself to either side, and a hand takes slowestTurn seconds for one at most. From
// memory of the trade.
const (
	unseenShare = 0.1
	slowestTurn = 10
)

// unevenPace is the share by which a hand is slower in one half of a turn than on the
// mean: what it turns slowly through counts for more of the time, which moves the
// median by as much of half the ripple. From memory of the trade.
const unevenPace = 0.1

// runningU combines the gauge's step and permissible error and the hand's pace with
// the scatter of the running torque: about the ripple where it shows, and else between
// fifths of the trace. Where no turn shows, what the rest of the turn has lies off by
// half of what was seen to go up and down, and by unseenShare of the torque where it
// was turned for less than slowestTurn: of the former less from half of that on, for
// the fifths then hold both sides of the ripple.
func runningU(s []analysis.Sample, period, running, peakToPeak float64, o PreloadOptions) float64 {
	x := analysis.Values(s)
	step := stat.StepOr(o.Resolution, x)
	noise := math.Max(stat.RobustSD(stat.Differences(x))/math.Sqrt2, gum.Resolution(step))
	// White noise smoothed as the movement was goes five deviations up and down.
	swing := math.Max(0, peakToPeak-5*noise/math.Sqrt(float64(1+2*max(1, len(x)/200)))) / 2
	cs := []gum.Component{
		{Name: "resolution", U: gum.Resolution(step), Sensitivity: 1, DoF: math.Inf(1)},
		{Name: "wrench", U: gum.Rectangular(running * o.MPEPercent / 100), Sensitivity: 1, DoF: math.Inf(1)},
		{Name: "pace of the hand", U: gum.Rectangular(unevenPace), Sensitivity: swing, DoF: math.Inf(1)},
	}
	if period > 0 {
		cs = append(cs, aboutRipple(s, period))
	} else {
		rest := math.Max(0, 1-analysis.Span(s)/slowestTurn)
		cs = append(cs, betweenParts(s, analysis.Span(s)/5),
			gum.Component{Name: "seen to go up and down", U: swing, Sensitivity: math.Min(1, 2*rest), DoF: math.Inf(1)},
			gum.Component{Name: "rest of the turn", U: gum.Rectangular(unseenShare * running), Sensitivity: rest, DoF: math.Inf(1)})
	}
	budget, err := gum.Combine(slices.DeleteFunc(cs, func(c gum.Component) bool { return math.IsNaN(c.U) }))
	if err != nil || budget.Combined == 0 {
		return math.NaN()
	}
	return budget.Stated()
}

// aboutRipple is the uncertainty of the mean from what two harmonics of the turn
// leave, by tenths of a turn. It counts three times: the harmonics take away half of
// what wanders slowly, tenths go together, and of a sine only the readings about its
// middle move the median; of one turn twice as often, for no other shows what wanders
// over it. Found on invented bearings, no source.
func aboutRipple(s []analysis.Sample, period float64) gum.Component {
	fit, err := ripple(s, period)
	if err != nil {
		return gum.Component{U: math.NaN()}
	}
	rest := slices.Clone(s)
	for i, r := range fit.Residuals {
		rest[i].X = r
	}
	c := betweenParts(rest, period/10)
	turns := analysis.Span(s) / period
	c.Sensitivity = 3 * (1 + 1/(turns*turns))
	return c
}

// ripple fits what repeats each turn.
func ripple(s []analysis.Sample, period float64) (analysis.HarmonicFit, error) {
	angle := analysis.Times(s)
	for i := range angle {
		angle[i] *= 360 / period
	}
	return analysis.FitHarmonics(angle, analysis.Values(s), 1, 2)
}

// betweenParts is the uncertainty of the mean from the scatter between parts of
// that many seconds.
func betweenParts(s []analysis.Sample, length float64) gum.Component {
	var parts []float64
	var part []float64
	edge := s[0].T + length
	for _, q := range s {
		if q.T > edge+length*1e-9 {
			parts = append(parts, stat.Median(part))
			part, edge = part[:0], edge+length
		}
		part = append(part, q.X)
	}
	if len(part) > 0 && (len(parts) == 0 || s[len(s)-1].T-(edge-length) > length/2) {
		parts = append(parts, stat.Median(part))
	}
	n := float64(len(parts))
	return gum.Component{Name: "repeatability", U: stat.StdDev(parts) / math.Sqrt(n), Sensitivity: 1, DoF: n - 1}
}

// breakaway takes the peak before the steady part when it stands out from it.
func (p *Preload) breakaway(before, steady []analysis.Sample) {
	x := analysis.Values(steady)
	noise := stat.RobustSD(stat.Differences(x)) / math.Sqrt2
	high := stat.Quantile(x, 0.99)
	peak := math.Inf(-1)
	for i := range before {
		x := before[i].X
		if i >= 2 && i+2 < len(before) { // a single wild reading is no breakaway
			x = tamed([5]analysis.Sample(before[i-2 : i+3]))
		}
		peak = math.Max(peak, x)
	}
	if peak > high+math.Max(2*noise, 0.02*p.Running) {
		p.Breakaway = peak
		return
	}
	p.Notes = append(p.Notes, analysis.NoBreakaway.Of())
}

// trend notes a running torque that is still going up or down.
func (p *Preload) trend(steady []analysis.Sample) {
	half := len(steady) / 2
	a, b := stat.Median(analysis.Values(steady[:half])), stat.Median(analysis.Values(steady[half:]))
	if math.Abs(b-a) > math.Max(0.1*p.Running, 0.35*p.PeakToPeak) {
		p.Faults = append(p.Faults, analysis.NotSteady)
		p.Notes = append(p.Notes, analysis.TorqueTrend.Of(a, b))
	}
}

// CarrierFromTotal returns the drag of the carrier's own bearings, N·m at the
// crown wheel, from the total and the pinion-only torque, both at the pinion:
//
//	carrier = (total - pinion) · wheelTeeth / pinionTeeth
//
// Mesh drag is in it. It returns NaN without tooth counts.
// Source: common practice; agrees with direct handbook figures.
func CarrierFromTotal(total, pinion float64, pinionTeeth, wheelTeeth int) float64 {
	if pinionTeeth < 1 || wheelTeeth < 1 {
		return math.NaN()
	}
	return (total - pinion) * float64(wheelTeeth) / float64(pinionTeeth)
}
