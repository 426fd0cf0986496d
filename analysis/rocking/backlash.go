package rocking

import (
	"cmp"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

// Options says what is known about the gauge and its set-up before the
// wheel is rocked. The zero value is useful: resolution is estimated from the
// readings, and nothing is corrected.
type Options struct {
	Resolution  float64 // last digit of the gauge in mm; 0: estimated from the readings
	CosineDeg   float64 // angle in degrees between the plunger and the direction of motion
	RadiusRatio float64 // heel radius over contact radius; 0: 1, no correction
	Quiet       bool    // no events, for whom only Result is asked: a fifth of the time
	MPE         float64 // half-width in mm of the gauge's maximum permissible error; 0: unknown, left out
	Push        float64 // half-width in mm of what the push at the stops leaves in doubt, both together, as measured; 0: judged by how the readings arrive
}

// A Backlash is the play between the two stops of the wheel. Lengths are in
// the unit of the samples, mm unless the caller chose another.
type Backlash struct {
	Value               float64 // corrected for cosine and radius; NaN when refused
	StandardUncertainty float64 // as Budget.Stated gives it; NaN when refused
	ExpandedUncertainty float64 // 95 %, twice the other; NaN when refused
	OwnU, HandU         float64 // of it what this position has alone, and what the hand gives unseen at the stops: PushDoubt; 0 when refused
	Rocks               int     // sound rocks, there and back
	LowStop, HighStop   float64 // levels as read, not corrected; the extremes read where the wheel never rested; NaN when not found
	GiveWay, GiveWayU   float64 // taken off the distance of the stops for what goes on after they are reached, with its standard uncertainty; below 0 where it was added; NaN when refused
	Repeatability       float64 // standard deviation of one rock; NaN with fewer than two rocks
	Refused             bool
	Faults              []analysis.Fault // empty for a sound trace
	Notes               []analysis.Note  // what was set aside, and what would lessen the uncertainty
}

// Measure finds the backlash in the trace s of a wheel rocked by hand
// between its two stops, the pinion held. It drives a Rocking over s, so its
// result is the one the live path shows after the last sample of s. s is
// unchanged. Any input is answered: one that holds no backlash is refused with
// its fault.
func Measure(s []analysis.Sample, o Options) Backlash {
	o.Quiet = true
	r := New(o)
	for _, v := range s {
		r.Add(v)
	}
	return r.Result()
}

// report turns the judgement of all stops into a result.
func (r *Rocking) report(j *judgement) Backlash {
	nan := math.NaN()
	b := Backlash{
		Value: nan, StandardUncertainty: nan, ExpandedUncertainty: nan, LowStop: nan, HighStop: nan, GiveWay: nan, GiveWayU: nan, Repeatability: nan,
		Rocks: j.rocks + r.past.rocks(), Refused: true, Faults: j.faults.list(),
	}
	p := j.estimate(r.opt.Push, &r.past)
	b.Notes = r.notes(j, &p)
	b.HighStop, b.LowStop = p.high+r.seg.Origin, p.low+r.seg.Origin
	b.Repeatability = math.Hypot(p.stops.high.sd(), p.stops.low.sd())
	switch rested := !j.faults.has(analysis.NoDwell); {
	case p.film && rested:
		b.Notes = append(b.Notes, analysis.OilFilm.Of())
	case p.film: // then the extremes bound nothing
		b.Notes = append(b.Notes, analysis.GaugeLags.Of())
	case !rested: // which bounds nothing: stops give way, and a hand in a hurry misses them
		lo, hi := extremes(j.s.turns)
		b.LowStop, b.HighStop = lo+r.seg.Origin, hi+r.seg.Origin
		b.Notes = append(b.Notes, analysis.PeakToPeak.Of(b.HighStop-b.LowStop))
	}
	if j.refuse || p.stops.strokes.n == 0 {
		return b
	}
	doubts := r.components(j, p)
	budget, err := gum.Combine(doubts)
	b.Value = p.mean * r.factor()
	if err != nil || !(b.Value > 0) || math.IsInf(b.Value, 0) || math.IsInf(budget.Combined, 0) {
		b.Value = math.NaN()
		b.Notes = append(b.Notes, analysis.NoLengths.Of())
		return b
	}
	b.Refused = false
	b.GiveWay, b.GiveWayU = p.taken, math.Hypot(p.creepU, PushDoubt(p.push, 1).U)
	b.StandardUncertainty = budget.Stated()
	b.OwnU, b.HandU = math.Hypot(doubts[0].Contribution(), doubts[1].Contribution()), doubts[2].Contribution()
	b.ExpandedUncertainty = 2 * b.StandardUncertainty
	return b
}

// PushDoubt is the doubt of what gives way at both stops too quickly to be seen, of
// a backlash that is so many times what was read. measured is as Options.Push.
func PushDoubt(measured, factor float64) gum.Component {
	return gum.Component{Name: "push at the stops", U: gum.Rectangular(cmp.Or(measured, 2*UnseenDoubt)), Sensitivity: factor, DoF: math.Inf(1), Even: true}
}

// factor takes a reading to the backlash at the heel.
func (r *Rocking) factor() float64 { return PlungerFactor(r.opt.CosineDeg, r.opt.RadiusRatio) }

// components lists the doubts about the value, in its unit.
func (r *Rocking) components(j *judgement, p estimate) []gum.Component {
	f := r.factor()
	high, low := p.stops.high, p.stops.low
	dof := high.n + low.n - high.groups - low.groups
	if j.course.fault == analysis.BaseCreep {
		dof--
	}
	pooled := math.Sqrt((high.squares + low.squares) / dof)
	inf := math.Inf(1)
	cs := []gum.Component{
		{Name: "repeatability of the stops", U: pooled * math.Sqrt(1/high.n+1/low.n), Sensitivity: f, DoF: dof},
		{Name: "resolution", U: math.Sqrt(2 * j.hidden), Sensitivity: f, DoF: inf},
		PushDoubt(p.push, f),
		{Name: "wind-up at the stops", U: p.creepU, Sensitivity: f, DoF: inf},
	}
	cs = append(cs, PlungerDoubts(p.mean*f, r.opt.CosineDeg, r.opt.RadiusRatio)...)
	cs = append(cs, gum.Component{Name: "stops perhaps not reached", U: j.excess(p.stops.strokes.sd()), Sensitivity: f, DoF: math.Min(high.n, low.n) - 1})
	if r.opt.MPE > 0 {
		cs = append(cs, gum.Component{Name: "gauge error", U: gum.Rectangular(r.opt.MPE), Sensitivity: f, DoF: inf})
	}
	return cs
}

// notes says what was set aside and what would lessen the doubt.
func (r *Rocking) notes(j *judgement, p *estimate) []analysis.Note {
	var l []analysis.Note
	note := func(when bool, c analysis.NoteCode, args ...float64) {
		if when {
			l = append(l, c.Of(args...))
		}
	}
	note(j.first, analysis.FirstRockAside)
	note(j.partial > 0, analysis.PartialAside, float64(j.partial))
	note(j.odd > 0, analysis.OddStopsAside, float64(j.odd))
	note(j.flat && !j.faults.has(analysis.EndOfTravel), analysis.MaybeEndOfTravel)
	note(j.still && r.seg.Count() > 0 && j.rocks > 0, analysis.DigitsStand)
	note(p.left > 0, analysis.RestsLeftOut, float64(p.left))
	note(r.seg.Bad > 0, analysis.NotNumbers, float64(r.seg.Bad))
	note(r.seg.Back > 0, analysis.TimeWentBack, float64(r.seg.Back))
	return l
}

// excess is what the strokes scatter more than a usual hand finds both their ends,
// noise and digits allowed for. A stop that was not reached every time shows it, always
// short of it, so that more rocks do not average it away and both sides add up. The
// base may move between rocks: strokes do not show that.
func (j *judgement) excess(sd float64) float64 {
	own := handScatter*handScatter + j.blur*j.blur + j.blind*j.blind
	return math.Sqrt(2 * math.Max(0, sd*sd-2*own))
}

// How well a fitter knows the set-up, half-widths: an angle by eye to 2°, a
// ratio of radii to 1 %.
const (
	angleDoubt  = 2    // degrees
	radiusDoubt = 0.01 // of the ratio

	degree = math.Pi / 180 // rad
)

// PlungerFactor takes what an indicator reads to the backlash at the heel, in
// line with its motion: an indicator tilted by θ reads 1/cos θ too much, and
// one at a smaller radius too little in proportion. radiusRatio is the heel's
// radius over the contact's; 0 leaves it out.
func PlungerFactor(tiltDeg, radiusRatio float64) float64 {
	f := math.Cos(tiltDeg * degree)
	if radiusRatio > 0 {
		f *= radiusRatio
	}
	return f
}

// PlungerDoubts lists the doubts that PlungerFactor brings to a corrected
// backlash v, in its unit.
func PlungerDoubts(v, tiltDeg, radiusRatio float64) []gum.Component {
	inf := math.Inf(1)
	var cs []gum.Component
	if tiltDeg != 0 {
		cs = append(cs, gum.Component{Name: "angle of the plunger", U: gum.Rectangular(angleDoubt * degree), Sensitivity: v * math.Tan(tiltDeg*degree), DoF: inf})
	}
	if radiusRatio > 0 {
		cs = append(cs, gum.Component{Name: "radius of the contact", U: gum.Rectangular(radiusDoubt), Sensitivity: v, DoF: inf})
	}
	return cs
}
