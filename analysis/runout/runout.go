// Package runout measures how far a face or a bore moves over a turn of the
// wheel, from readings at angles or from a trace of turning.
package runout

import (
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
	"crownlog/analysis/motion"
)

// A Point is one indicator reading at an angle of the wheel.
type Point struct{ AngleDeg, Value float64 }

// Options says what is known of the gauge. Zero values are fine.
type Options struct {
	Resolution float64 // mm; 0: taken from the readings
	MPE        float64 // largest permissible error of the gauge, half width, mm; 0: none counted
	Confirmed  []int   // indexes of points that were read before with the same result: none of them is Doubtful
}

// Result is the movement of a face or bore over a turn. Lengths are mm.
type Result struct {
	FIM           float64            // full indicator movement of the face, between the places too, proven spikes left out; NaN when refused
	FIMU          float64            // its standard uncertainty, twice which covers 95 % of the whole face's; NaN: nothing known
	H1            *analysis.Harmonic // once a turn: tilt or eccentricity; nil: could not be told
	H2            *analysis.Harmonic // twice a turn: warp; nil: fewer than eight places
	ResidualSD    float64            // what both leave; NaN: nothing left to tell
	FIMIfReseated float64            // without the once-a-turn part; NaN where that could not be told
	Spikes        []Spike            // left out: a second turn over the place proves what they are
	Doubtful      []int              // indexes of the readings that stand out with nothing to prove them right or wrong; FIM counts them
	Turns         float64            // whole and part turns covered
	Refused       bool
	Faults        []analysis.Fault
	Notes         []analysis.Note
}

// A face is the readings of one run-out in the order they were taken, with the
// angle counted on through the turns.
type face struct {
	angle, value []float64
	index        []int // of each reading among those that were given
	resolution   float64
	doubt        float64   // how far those that are Doubtful stand out at most
	spike        []bool    // stands out of the harmonics and is no part of their fit
	leftOut      []bool    // of these: no part of the movement either
	rest         []float64 // what the robust fit leaves; nil with few places
	continuous   bool
}

// densePoints is how many readings make a surface that can be smoothed; fewer
// are taken as they stand.
const densePoints = 60

// Measure measures run-out from readings at any angles, in the order they
// were taken. 360° is the same place as 0° a turn later, so angles may run on
// through several turns or come back to the start to see whether the base
// moved. It refuses fewer than three places and a gap of more than half a turn.
//
// FIM is that of the harmonics which the places carry, for the face goes on
// between them; with fewer than 16 places no less than the readings show, each
// place averaged, and with 60 readings or more of a surface smoothed over some 6°
// where harmonics do not meet it. A reading that stands out of the others is never
// left out: the wheel may well have a bump there, and between places nothing shows
// how wide it is. The movement then is as read, and the reading Doubtful, until
// another one of the same place agrees with it.
// Source: ISO 1101 and ASME Y14.5 (total indicated movement, from memory);
// harmonics by least squares as FitHarmonics.
func Measure(points []Point, o Options) Result {
	f := face{}
	for i, p := range points {
		if stat.Sensible(p.AngleDeg) && stat.Sensible(p.Value) {
			f.angle, f.value, f.index = append(f.angle, p.AngleDeg), append(f.value, p.Value), append(f.index, i)
		}
	}
	places := analysis.DistinctAngles(f.angle)
	if places < 3 {
		return refusedRunout(analysis.TooShort, analysis.FewPlaces.Of(float64(places)))
	}
	r := newRunout()
	low, high := stat.Extremes(f.angle)
	r.Turns = math.Max(1, (high-low)/360)
	f.resolution = stat.StepOr(o.Resolution, f.value)
	if dropped := len(points) - len(f.value); dropped > 0 {
		r.Notes = append(r.Notes, analysis.NotNumbers.Of(float64(dropped)))
	}
	r.measure(&f, places, o)
	return r
}

// MeasureTurn measures run-out from a gauge that was read while the wheel was
// turned steadily in one direction, for one turn or several. How long a turn
// takes is found from the readings; a trace that repeats nowhere within itself
// is taken as one turn. Angles count from the first reading on. A narrow spot
// that stands out is a spike where the turns pass its place twice, for then it is
// seen whether it stays there; what only one pass shows is Doubtful.
func MeasureTurn(samples []analysis.Sample, o Options) Result {
	s, _ := analysis.InOrder(samples, analysis.Sample.Reading, 0)
	if len(s) < 12 {
		return refusedRunout(analysis.TooShort, analysis.FewReadings.Of(float64(len(s))))
	}
	step := stat.StepOr(o.Resolution, analysis.Values(s))
	if low, high := stat.Extremes(analysis.Values(s)); low == high {
		return refusedRunout(analysis.Frozen, analysis.ReadingStood.Of())
	}
	s, turn := motion.Turning(motion.Packed(s, 7200), step)
	if turn.Period < quickestTurn {
		return refusedRunout(analysis.TooShort, analysis.TooQuick.Of(turn.Period))
	}
	r := newRunout()
	r.Turns = turn.Turns
	f := face{resolution: step, continuous: true}
	k := 0
	for _, q := range s {
		for k+1 < len(samples) && !(samples[k].T >= q.T) { // packed readings lie between those given
			k++
		}
		f.angle, f.value, f.index = append(f.angle, 360*(q.T-s[0].T)/turn.Period), append(f.value, q.X), append(f.index, k)
	}
	if turn.Turns < motion.OneTurn {
		r.Notes = append(r.Notes, analysis.OneTurnSeen.Of(turn.Period))
	} else {
		r.Notes = append(r.Notes, analysis.TurnsSeen.Of(turn.Turns, turn.Period))
	}
	r.measure(&f, analysis.DistinctAngles(f.angle), o)
	r.doubtTurns(f, turn)
	return r
}

// quickestTurn is the least time, seconds, that a hand takes for a turn which an
// indicator can follow. Common practice, no source.
const quickestTurn = 2

// doubtTurns takes back the harmonics of a continuous turn where it cannot be
// said how many turns the trace has. Where the movement is but two counts of the
// display, steps are all that is left of its shape. A single turn that mainly
// repeats itself after half of it may be two turns by an uneven hand.
func (r *Result) doubtTurns(f face, turn motion.TurnFit) {
	if r.Refused || r.H1 == nil {
		return
	}
	angle, value := f.kept(f.value)
	var why analysis.NoteCode
	// By amplitudes squared: nine times is three quarters of the movement and more.
	if low, high := stat.Extremes(value); high-low < 2.5*f.resolution {
		why = analysis.TwoCounts
	} else if fit, err := analysis.FitHarmonics(angle, value, 1, 2, 3, 4); err == nil && turn.Turns < motion.OneTurn {
		amplitude := func(order int) float64 { return stat.Square(fit.Harmonics[order-1].Amplitude) }
		if amplitude(2)+amplitude(4) > 9*(amplitude(1)+amplitude(3)) {
			why = analysis.MaybeTwoTurns
		}
	}
	if why != "" {
		r.H1, r.H2, r.FIMIfReseated = nil, nil, math.NaN()
		r.Notes = append(r.Notes, why.Of())
	}
}

func newRunout() Result {
	nan := math.NaN()
	return Result{FIM: nan, FIMU: nan, FIMIfReseated: nan, ResidualSD: nan, Spikes: []Spike{}, Faults: []analysis.Fault{}, Notes: []analysis.Note{}}
}

func refusedRunout(f analysis.Fault, why analysis.Note) Result {
	r := newRunout()
	r.fault(f, why, true)
	return r
}

// fault names a fault once, and takes the value back where it is spoilt.
func (r *Result) fault(f analysis.Fault, why analysis.Note, spoilt bool) {
	if spoilt {
		r.FIM, r.FIMU, r.FIMIfReseated = math.NaN(), math.NaN(), math.NaN()
		r.H1, r.H2, r.Refused = nil, nil, true
	}
	if !slices.Contains(r.Faults, f) {
		r.Faults, r.Notes = append(r.Faults, f), append(r.Notes, why)
	}
}

// measure fills in the result from the readings of the face.
func (r *Result) measure(f *face, places int, o Options) {
	gap := largestGap(f.angle)
	// Without half of the turn its high or its low spot may not have been read; over
	// a third of it the sine says enough, and a fault is named.
	if gap > 125 {
		r.fault(analysis.Gaps, analysis.UnreadArc.Of(gap), gap > 180.5)
	}
	if r.Refused {
		return
	}
	drift := f.findSpikes(places)
	r.partSpikes(f, o.Confirmed)
	f.level(drift)
	angle, value := f.kept(f.value)
	r.harmonics(angle, value, places)
	var c curve
	r.FIM, c = f.movement(analysis.Harmonic{}, places)
	r.FIMIfReseated = r.FIM
	if r.H1 != nil {
		r.FIMIfReseated, _ = f.movement(*r.H1, places)
	}
	r.FIMU = c.u(r.FIM, places, f.resolution, o.MPE, f.doubt)
	r.judgeClosing(f, drift)
}

// harmonics fits once and, from eight places on, twice a turn.
func (r *Result) harmonics(angle, value []float64, places int) {
	fit, err := analysis.FitTurn(angle, value, places)
	switch {
	case len(fit.Harmonics) > 1:
		r.H2 = &fit.Harmonics[1]
	case places >= analysis.MinimumForSecond:
		r.Notes = append(r.Notes, analysis.NoSecond.Of())
	default:
		r.Notes = append(r.Notes, analysis.FewForSecond.Of(float64(places)))
	}
	if err != nil {
		r.Notes = append(r.Notes, analysis.NoFirst.Of())
		return
	}
	r.H1, r.ResidualSD = &fit.Harmonics[0], fit.ResidualSD
}

// Of fewer places than show a warp, a share of the movement that nobody saw
// stands for it, with the weight of so many degrees of freedom. From memory of
// the trade: a warp is seldom more than a seventh of the movement.
const (
	unseenWarp       = 0.07
	unseenWarpWeight = 4
)

// u is the standard uncertainty of a movement read off the curve: of its two
// levels, of what the remainder does to them, of the furthest that a reading in doubt
// stands out, for it may be a slip, or all scatter like it, and of the gauge. A
// display whose digits the scatter does not carry over hides its share in either level.
func (c curve) u(movement float64, places int, step, mpe, doubt float64) float64 {
	rest, dof := stat.Square(c.rest), math.Max(c.dof, 0)
	if places < analysis.MinimumForSecond {
		dof += unseenWarpWeight
		rest = (rest*(dof-unseenWarpWeight) + unseenWarpWeight*stat.Square(unseenWarp*movement)) / dof
	}
	dof = math.Max(dof, 1)
	levels := gum.Component{Name: "levels", U: math.Sqrt(rest), Sensitivity: math.Sqrt(c.knows), DoF: dof}
	// Rounding alone scatters by 0.29 of a step; 0.4 is with noise that dithers it.
	if still := math.Sqrt2 * gum.Resolution(step); math.Sqrt(rest) < 0.4*step && still > levels.Contribution() {
		levels = gum.Component{Name: "display", U: still, Sensitivity: 1, DoF: math.Inf(1)}
	}
	// A fifth of what looks like noise may yet be shape.
	shape := math.Max(rest-c.noise*c.noise, rest/5)
	if places >= manyPlaces && places < densePoints { // a wave of that deviation, at either level
		shape *= 2
	}
	budget, err := gum.Combine([]gum.Component{
		levels,
		{Name: "remainder", U: math.Sqrt(shape), Sensitivity: 1, DoF: dof},
		{Name: "what stands out", U: gum.Rectangular(doubt), Sensitivity: 1, DoF: math.Inf(1)},
		{Name: "gauge", U: gum.Rectangular(mpe), Sensitivity: 1, DoF: math.Inf(1)},
	})
	if err != nil || budget.Combined == 0 {
		return math.NaN() // readings all alike, of a gauge that nothing is known of
	}
	return budget.Stated()
}
