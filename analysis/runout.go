package analysis

import (
	"fmt"
	"math"
)

// A RunoutPoint is one indicator reading at an angle of the wheel.
type RunoutPoint struct{ AngleDeg, Value float64 }

// RunoutOptions says what is known of the gauge. Zero values are fine.
type RunoutOptions struct {
	Resolution float64 // mm; 0: taken from the readings
	MPE        float64 // largest permissible error of the gauge, half width, mm; 0: none counted
}

// Runout is the movement of a face or bore over a turn. Lengths are mm.
type Runout struct {
	FIM           float64 // full indicator movement, spikes left out; NaN when refused
	FIMU          float64
	H1            *Harmonic // once a turn: tilt or eccentricity; nil: could not be told
	H2            *Harmonic // twice a turn: warp; nil: fewer than eight places
	ResidualSD    float64   // what both leave; NaN: nothing left to tell
	FIMIfReseated float64   // without the once-a-turn part; NaN where that could not be told
	Spikes        []Spike
	Points        int
	Turns         float64 // whole and part turns covered
	TurnSeconds   float64 // of a continuous turn; NaN for indexed points
	Closing       float64 // how far a turn later the reading is from where it was; NaN: not seen
	Refused       bool
	Faults        []Fault
	Notes         []string
}

// A face is the readings of one run-out in the order they were taken, with the
// angle counted on through the turns.
type face struct {
	angle, value []float64
	resolution   float64
	spike        []bool
	rest         []float64 // what the robust fit leaves; nil with few places
	continuous   bool
}

// densePoints is how many readings make a surface that can be smoothed; fewer
// are taken as they stand.
const densePoints = 60

// MeasureRunout measures run-out from readings at any angles, in the order they
// were taken. 360° is the same place as 0° a turn later, so angles may run on
// through several turns or come back to the start to see whether the base
// moved. It refuses fewer than three places and a gap of more than half a turn.
//
// FIM is the largest less the smallest reading, each place averaged; with 60
// readings or more of a surface smoothed over some 6° so that the gauge's noise
// does not add to it.
// Source: ISO 1101 and ASME Y14.5 (total indicated movement, from memory);
// harmonics by least squares as FitHarmonics.
func MeasureRunout(points []RunoutPoint, o RunoutOptions) Runout {
	f := face{}
	for _, p := range points {
		if sensible(p.AngleDeg) && sensible(p.Value) {
			f.angle, f.value = append(f.angle, p.AngleDeg), append(f.value, p.Value)
		}
	}
	places := distinctAngles(f.angle)
	if places < 3 {
		return refusedRunout(TooShort, fmt.Sprintf("%d places are too few for a run-out", places))
	}
	r := newRunout(len(f.value))
	r.TurnSeconds = math.NaN()
	low, high := extremes(f.angle)
	r.Turns = math.Max(1, (high-low)/360)
	f.resolution = o.Resolution
	if !(f.resolution > 0) {
		f.resolution = displayStep(f.value)
	}
	if dropped := len(points) - len(f.value); dropped > 0 {
		r.Notes = append(r.Notes, fmt.Sprintf("%d readings are not numbers and were left out", dropped))
	}
	r.measure(&f, places, o)
	return r
}

// RunoutTurn measures run-out from a gauge that was read while the wheel was
// turned steadily in one direction, for one turn or several. How long a turn
// takes is found from the readings; a trace that repeats nowhere within itself
// is taken as one turn. Angles count from the first reading on.
func RunoutTurn(samples []Sample, o RunoutOptions) Runout {
	var s []Sample
	for _, q := range samples {
		if sensible(q.T) && sensible(q.X) && (len(s) == 0 || q.T > s[len(s)-1].T) {
			s = append(s, q)
		}
	}
	if len(s) < 12 {
		return refusedRunout(TooShort, fmt.Sprintf("%d readings are too few for a turn", len(s)))
	}
	step := o.Resolution
	if !(step > 0) {
		step = displayStep(values(s))
	}
	if low, high := extremes(values(s)); low == high {
		return refusedRunout(Frozen, "the reading never moved: is the gauge held, or the plunger off the face?")
	}
	s, turn := turning(packed(s, 7200), step)
	if turn.period < quickestTurn {
		return refusedRunout(TooShort, fmt.Sprintf("a turn of %.2g s is too quick to be one: turn steadily, a turn in ten seconds or more", turn.period))
	}
	points := len(s)
	r := newRunout(points)
	r.Turns, r.TurnSeconds = turn.turns, turn.period
	f := face{resolution: step, continuous: true}
	for _, q := range s {
		f.angle = append(f.angle, 360*(q.T-s[0].T)/turn.period)
		f.value = append(f.value, q.X)
	}
	if turn.turns < oneTurn {
		r.Notes = append(r.Notes, fmt.Sprintf("taken as one turn of %.3g s", turn.period))
	} else {
		r.Notes = append(r.Notes, fmt.Sprintf("%.2f turns of %.3g s recognised", turn.turns, turn.period))
	}
	r.measure(&f, distinctAngles(f.angle), o)
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
func (r *Runout) doubtTurns(f face, turn turnFit) {
	if r.Refused || r.H1 == nil {
		return
	}
	angle, value := f.kept()
	why := ""
	if low, high := extremes(value); high-low < 2.5*f.resolution {
		why = "the movement is two counts at most, too little to tell turns and harmonics"
	} else if fit, err := FitHarmonics(angle, value, 1, 2, 3, 4); err == nil && turn.turns < oneTurn {
		amplitude := func(order int) float64 { return square(fit.Harmonics[order-1].Amplitude) }
		if amplitude(2)+amplitude(4) > 9*(amplitude(1)+amplitude(3)) {
			why = "it may as well be two turns: harmonics cannot be told; turn once more, or read at marked positions"
		}
	}
	if why != "" {
		r.H1, r.H2, r.FIMIfReseated = nil, nil, math.NaN()
		r.Notes = append(r.Notes, why)
	}
}

func newRunout(points int) Runout {
	return Runout{Points: points, ResidualSD: math.NaN(), Closing: math.NaN(), FIMU: math.NaN(),
		Spikes: []Spike{}, Faults: []Fault{}, Notes: []string{}}
}

func refusedRunout(f Fault, why string) Runout {
	r := newRunout(0)
	r.TurnSeconds = math.NaN()
	return r.refuse(f, why)
}

func (r Runout) refuse(f Fault, why string) Runout {
	r.FIM, r.FIMU, r.FIMIfReseated = math.NaN(), math.NaN(), math.NaN()
	r.H1, r.H2 = nil, nil
	r.Refused = true
	r.addFault(f, why)
	return r
}

func (r *Runout) addFault(f Fault, why string) {
	for _, g := range r.Faults {
		if g == f {
			return
		}
	}
	r.Faults = append(r.Faults, f)
	r.Notes = append(r.Notes, why)
}

// measure fills in the result from the readings of the face.
func (r *Runout) measure(f *face, places int, o RunoutOptions) {
	gap := largestGap(f.angle)
	if gap > 180.5 {
		*r = r.refuse(Gaps, fmt.Sprintf("nothing was read over %.0f° of the turn", gap))
		return
	}
	if gap > 125 {
		r.addFault(Gaps, fmt.Sprintf("nothing was read over %.0f° of the turn", gap))
	}
	drift := f.findSpikes(places)
	r.Spikes = f.listSpikes()
	if len(r.Spikes) > 0 {
		r.Notes = append(r.Notes, spikeNote(r.Spikes))
	}
	f.level(drift)
	angle, value := f.kept()
	r.harmonics(angle, value, places)
	r.FIM = fim(angle, value, f.resolution)
	r.FIMIfReseated = r.FIM
	if r.H1 != nil {
		rest := make([]float64, len(value))
		for i := range value {
			rest[i] = value[i] - r.H1.Amplitude*math.Cos((angle[i]-r.H1.PhaseDeg)*math.Pi/180)
		}
		r.FIMIfReseated = fim(angle, rest, f.resolution)
	}
	r.FIMU = fimU(r.ResidualSD, len(value), f.resolution, o.MPE)
	r.judgeClosing(f, drift)
}

// harmonics fits once and, from eight places on, twice a turn.
func (r *Runout) harmonics(angle, value []float64, places int) {
	if places >= minimumForSecond {
		fit, err := FitHarmonics(angle, value, 1, 2)
		if err == nil {
			r.H1, r.H2, r.ResidualSD = &fit.Harmonics[0], &fit.Harmonics[1], fit.ResidualSD
			return
		}
		r.Notes = append(r.Notes, "these angles cannot tell twice a turn from the rest")
	} else {
		r.Notes = append(r.Notes, fmt.Sprintf("%d places are too few to tell twice a turn: eight or more are needed", places))
	}
	fit, err := FitHarmonics(angle, value, 1)
	if err != nil {
		r.Notes = append(r.Notes, "these angles cannot tell once a turn from the rest")
		return
	}
	r.H1, r.ResidualSD = &fit.Harmonics[0], fit.ResidualSD
}

// fimU is the standard uncertainty of a difference of two levels: scatter,
// display step and permissible error of the gauge.
func fimU(residual float64, points int, step, mpe float64) float64 {
	if points >= densePoints {
		// Some 12° of readings stand behind each of the two levels.
		residual /= math.Sqrt(math.Max(1, float64(points)/30))
	}
	u := math.Sqrt(2*(square(residual)+square(Resolution(step))) + square(Rectangular(mpe)))
	if u == 0 {
		return math.NaN() // readings all alike, of a gauge that nothing is known of
	}
	return u
}
