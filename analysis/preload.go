package analysis

import (
	"fmt"
	"math"
	"slices"
)

// NotSteady says that a trace never settled to a level or a rate long enough
// to measure it.
const NotSteady Fault = "not-steady"

// TooShort says that a trace has too few readings or covers too little time.
const TooShort Fault = "too-short"

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
	Turns               float64 // whole turns averaged; NaN: the ripple shows no turn
	From                float64 // steady part, seconds
	To                  float64
	Refused             bool
	Faults              []Fault
	Notes               []string
}

func refusedPreload(f Fault, why string) Preload {
	nan := math.NaN()
	return Preload{nan, nan, nan, nan, nan, nan, nan, true, []Fault{f}, []string{why}}
}

// MeasurePreload takes the running torque out of a trace in N·m: the median of
// the steady part over as many whole turns as it holds, apart from the
// breakaway at the start. Either direction of turning will do. It refuses a
// trace with fewer than ten readings or less than a second of steady turning.
// Source: heavy-axle handbooks (running, not starting, torque); JCGM 100 4.2.
func MeasurePreload(samples []Sample, o PreloadOptions) Preload {
	s, gaps := cleanSamples(samples)
	if len(s) < 10 {
		return refusedPreload(TooShort, fmt.Sprintf("%d readings are too few", len(s)))
	}
	level := runningGuess(s)
	if !(level > 0) {
		return refusedPreload(NotSteady, "no torque in the trace")
	}
	from, to := longestMotion(s, level/2)
	motion := s[from:to]
	if len(motion) < 10 || span(motion) < 1 {
		return refusedPreload(TooShort, "less than a second of turning")
	}
	start := settledFrom(motion)
	end := endOfSteady(motion, start)
	steady := motion[start:end]
	if len(steady) < 8 || span(steady) < 0.8 {
		return refusedPreload(NotSteady, "the torque never settled")
	}
	p := Preload{Breakaway: math.NaN(), Turns: math.NaN(), Faults: []Fault{}, Notes: []string{}}
	if gaps > 0 {
		p.Faults = append(p.Faults, Gaps)
		p.Notes = append(p.Notes, fmt.Sprintf("%d gaps in the readings", gaps))
	}
	p.steadyPart(steady, o)
	p.breakaway(s[:from+start], steady)
	p.trend(steady)
	return p
}

// runningGuess is the median of what is clearly above rest.
func runningGuess(s []Sample) float64 {
	x := values(s)
	slices.Sort(x)
	top := sortedQuantile(x, 0.9)
	i, _ := slices.BinarySearch(x, top/4)
	return sortedQuantile(x[i:], 0.5)
}

// longestMotion returns the longest stretch above the level, in time, with
// dips of less than a fifth of a second left in.
func longestMotion(s []Sample, level float64) (from, to int) {
	begin, last := -1, -1
	keep := func() {
		if begin >= 0 && s[last].T-s[begin].T >= span(s[from:to]) {
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

// settledFrom returns where the breakaway is over: after the highest torque of
// the first part, once it has come down to what the rest of the motion shows.
func settledFrom(motion []Sample) int {
	late := values(motion[len(motion)/2:])
	high, middle := Quantile(late, 0.95), Median(late)
	limit := motion[0].T + math.Max(0.3*span(motion), math.Min(2, span(motion)/2))
	start, peak := 0, math.Inf(-1)
	for i, q := range motion {
		if q.T > limit {
			break
		}
		if q.X > peak {
			start, peak = i, q.X
		}
	}
	if peak <= high+0.5*(high-middle) { // no peak beyond the ripple: only the rise to pass
		start = 0
		for start < len(motion)/2 && motion[start].X < Quantile(late, 0.02) {
			start++
		}
		return start
	}
	for start < len(motion)/2 && motion[start].X > high {
		start++
	}
	// The tail of the peak: as long again as it took to come down.
	tail := motion[start].T + math.Min(0.25, span(motion)/10)
	for start < len(motion)/2 && motion[start].T < tail {
		start++
	}
	return start
}

// endOfSteady cuts off the fall to rest at the end.
func endOfSteady(motion []Sample, start int) int {
	low := Quantile(values(motion[start:]), 0.05)
	middle := Median(values(motion[start:]))
	end := len(motion)
	for end > start+1 && motion[end-1].X < low-(middle-low)/2 {
		end--
	}
	return end
}

// steadyPart fills in the running torque and its ripple.
func (p *Preload) steadyPart(steady []Sample, o PreloadOptions) {
	period := 0.0
	if found, ok := ripplePeriod(steady); ok {
		period = found
	}
	whole := steady
	if turns := math.Floor(span(steady)/math.Max(period, 1e-9) + 0.02); period > 0 && turns >= 1 {
		p.Turns = turns
		end := steady[len(steady)-1].T
		i := 0
		for i < len(steady)-1 && end-steady[i].T > turns*period {
			i++
		}
		whole = steady[i:]
	} else {
		p.Notes = append(p.Notes, "no whole turn shows in the ripple: median of all that is steady")
	}
	x := values(whole)
	p.From, p.To = whole[0].T, whole[len(whole)-1].T
	p.Running = Median(x)
	smooth := smoothed(x, max(1, len(x)/200))
	p.PeakToPeak = Quantile(smooth, 0.995) - Quantile(smooth, 0.005)
	p.StandardUncertainty = runningU(whole, period, p.Running, o)
}

// ripplePeriod finds one period of the ripple in the steady part.
func ripplePeriod(steady []Sample) (float64, bool) {
	t := findTurn(steady)
	return t.period, t.turns >= 1.5 && t.explained > 0.3
}

// runningU combines the scatter of the running torque between parts of the
// trace (turns, where they show) with the gauge's step and permissible error.
func runningU(s []Sample, period, running float64, o PreloadOptions) float64 {
	length := period
	if !(length > 0) || span(s)/length < 3 {
		length = span(s) / 5
	}
	var parts []float64
	var part []float64
	edge := s[0].T + length
	for _, q := range s {
		if q.T > edge+length*1e-9 {
			parts = append(parts, Median(part))
			part, edge = part[:0], edge+length
		}
		part = append(part, q.X)
	}
	if len(part) > 0 && (len(parts) == 0 || s[len(s)-1].T-(edge-length) > length/2) {
		parts = append(parts, Median(part))
	}
	step := o.Resolution
	if !(step > 0) {
		step = displayStep(values(s))
	}
	cs := []Component{
		{Name: "resolution", U: Resolution(step), Sensitivity: 1, DoF: math.Inf(1)},
		{Name: "wrench", U: Rectangular(running * o.MPEPercent / 100), Sensitivity: 1, DoF: math.Inf(1)},
	}
	if n := float64(len(parts)); n > 1 {
		cs = append(cs, Component{Name: "repeatability", U: StdDev(parts) / math.Sqrt(n), Sensitivity: 1, DoF: n - 1})
	}
	budget, err := Combine(cs, 0.95)
	if err != nil || budget.Combined == 0 {
		return math.NaN()
	}
	return budget.Stated()
}

// breakaway takes the peak before the steady part when it stands out from it.
func (p *Preload) breakaway(before, steady []Sample) {
	x := values(steady)
	noise := robustSD(differences(x)) / math.Sqrt2
	high := Quantile(x, 0.99)
	peak := math.Inf(-1)
	for _, q := range before {
		peak = math.Max(peak, q.X)
	}
	if peak > high+math.Max(2*noise, 0.02*p.Running) {
		p.Breakaway = peak
		return
	}
	p.Notes = append(p.Notes, "no breakaway peak stood out from the running torque")
}

// trend notes a running torque that is still going up or down.
func (p *Preload) trend(steady []Sample) {
	half := len(steady) / 2
	a, b := Median(values(steady[:half])), Median(values(steady[half:]))
	if math.Abs(b-a) > math.Max(0.1*p.Running, 0.35*p.PeakToPeak) {
		p.Faults = append(p.Faults, NotSteady)
		p.Notes = append(p.Notes, fmt.Sprintf("the torque goes from %.3g to %.3g N·m: turn on until it is steady", a, b))
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
