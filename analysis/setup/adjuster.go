// Package setup answers what a fitter asks while setting up a gear: which backlash
// the manual means, how far to move an adjuster, where the wheel sits best on its
// flange, what the contact pattern asks for, and what looks misprinted in a sheet.
package setup

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// Advice is what to do with the adjusters or the shims after a round.
type Advice struct {
	Needed     bool    // false: leave the adjusters alone
	Steps      float64 // notches for each adjuster, halves with the half-notch side of the lock, or mm of shim to change sides; + brings the crown wheel towards the pinion as entered
	Capped     bool    // the caps are torqued: they are slackened for the move and torqued again after it
	Predicted  float64 // mean backlash after the move, mm; NaN: no move
	PredictedU float64 // its standard uncertainty
	Target     float64 // the mean aimed at, mm; NaN: none
	SignKnown  bool    // the way the backlash goes was learned from a move, not assumed
	Gain       float64 // change of the mean for each notch (or mm of shim) of +, mm
	GainU      float64 // its standard uncertainty
	Outcome    Outcome
	Shims      bool    // the steps are mm of shim, not notches
	Whole      bool    // only whole notches can be held
	Near, Far  Side    // what the move does on the crown-wheel side, and on the far side
	Mean       float64 // of the round
	Spread     float64 // of the round, and the room it has
	Room       float64
	Again      []int // positions to measure again before the crown wheel comes off; nil: the spread fits
	AimAsFound bool  // the aim is the mean as found
	Coarse     bool  // the move is the best there is, and may not bring the round inside
	TooClose   bool  // the round is left alone and too close to call: more rocks would decide it
}

// An Outcome is what an Advice comes to.
type Outcome string

// The outcomes of Advise.
const (
	NothingMeasured Outcome = "nothing-measured"
	OpenWindow      Outcome = "open-window" // without both ends nothing can be worked out
	SpreadTooWide   Outcome = "spread-too-wide"
	AlreadyInside   Outcome = "already-inside"
	NearEnough      Outcome = "near-enough"  // nearer to the aim than a step could bring it
	OutOfReach      Outcome = "out-of-reach" // not inside, and the steps are too coarse to get it there
	NoStack         Outcome = "no-stack"     // the box of shims has none that would move the wheel as it should
	MoveNeeded      Outcome = "move"
)

// A Turn is one thing that hands do to an adjuster: the one on the crown-wheel side
// or the far one, in by so many notches, - is out.
type Turn struct {
	Near bool
	By   float64
}

// Turns are what the hands do to move each adjuster by so many notches, + being
// the crown wheel towards the pinion: the side that gives way goes out by one
// notch more than it should, the other follows it in, and then that notch goes
// back in. The last motion of either side tightens, so that slack and preload are
// come to the same way each time. Common practice.
func Turns(notches float64) [3]Turn {
	n, near := math.Abs(notches), notches < 0
	return [3]Turn{{near, -n - 1}, {!near, n}, {near, 1}}
}

// A Move is one adjuster move with the backlash measured on both sides of it.
type Move struct {
	Steps    float64 // notches or mm of shim; + brings the crown wheel towards the pinion as entered
	Before   float64 // mean backlash, mm
	After    float64
	BeforeU  float64 // standard uncertainty of each, without what both share
	AfterU   float64
	Uneven   float64 // by how much more the sides went in than out: the wheel follows half of it, more or less
	Reversed bool    // the adjuster went past and came back, or finished slackening: lost motion is in it
	Unseated bool    // the bearings were not rolled in after it
}

// An AdjusterModel knows how much the mean backlash changes for each step of
// the adjusters: backlash = a + gain·steps. It starts from a size only; the
// first clear move gives the sign, and every sound move sharpens the gain.
type AdjusterModel struct {
	prior       float64 // size expected before any move
	gain, gainU float64
	known       bool
	last        float64 // steps of the last move; 0: none, or it came back
}

// Usual backlash for each notch, mm, where nothing better is known.
// Source: light and heavy axle handbooks (common practice).
const (
	UsualNotchGain  = 0.08
	UsualNotchGainU = 0.03
)

// seatU is how far the bearings settle differently from one move to the next,
// as a standard uncertainty of the mean, mm. From memory of the trade.
const seatU = 0.004

// Of what a move should do, so much is lost or comes later, as standard
// uncertainties: the cups lag behind the adjusters until they are rolled in, and
// where the direction turns there is slack in the threads. From memory of the trade.
const (
	lagShare   = 0.1
	slackShare = 0.25
)

// NewAdjusterModel returns a model that expects a change of size mm (its sign
// does not matter) give or take sd for each step. A size or sd that is not
// above 0 is replaced by the usual one for a notch.
func NewAdjusterModel(size, sd float64) *AdjusterModel {
	size = math.Abs(size)
	if !(size > 0) || math.IsInf(size, 0) {
		size, sd = UsualNotchGain, UsualNotchGainU
	}
	if !(sd > 0) || math.IsInf(sd, 0) {
		sd = size * UsualNotchGainU / UsualNotchGain
	}
	// Until a move has shown it, the usual layout: towards the pinion lessens.
	return &AdjusterModel{prior: size, gain: -size, gainU: sd}
}

// GainFromGeometry returns the size and standard uncertainty to start a model
// of a threaded adjuster with: the axial travel of a notch times GeometricGain.
// It is given a quarter of itself as doubt, for offset gears and slack threads.
func GainFromGeometry(pitch float64, notches int, perMM float64) (size, sd float64, err error) {
	if !(pitch > 0) || notches < 1 || !(perMM > 0) {
		return 0, 0, fmt.Errorf("thread pitch %v mm over %d notches at %v mm per mm gives no travel", pitch, notches, perMM)
	}
	size = pitch / float64(notches) * perMM
	return size, size / 4, nil
}

// GeometricGain returns the backlash gained for each mm that the crown wheel
// moves along its axis out of mesh:
//
//	normal      2·sin(δ)·sin(α)
//	transverse  2·sin(δ)·tan(α)/cos(β)
//
// with δ = atan(wheel/pinion teeth), α the normal pressure angle and β the
// mean spiral angle. First order, without offset of the axes.
// Source: own derivation, confirmed by a numeric model; no printed form found.
func GeometricGain(pinionTeeth, wheelTeeth int, pressureDeg, spiralDeg float64, normal bool) (float64, error) {
	if pinionTeeth < 1 || wheelTeeth < 1 {
		return 0, fmt.Errorf("teeth %d/%d are not both above 0", pinionTeeth, wheelTeeth)
	}
	if _, err := NormalFactor(pressureDeg, spiralDeg); err != nil {
		return 0, err
	}
	sinDelta := math.Sin(math.Atan2(float64(wheelTeeth), float64(pinionTeeth)))
	alpha, beta := pressureDeg*math.Pi/180, spiralDeg*math.Pi/180
	if normal {
		return 2 * sinDelta * math.Sin(alpha), nil
	}
	return 2 * sinDelta * math.Tan(alpha) / math.Cos(beta), nil
}

// Gain returns the change of the mean for each step of +, its standard
// uncertainty, and whether its sign was learned.
func (m *AdjusterModel) Gain() (gain, u float64, signKnown bool) { return m.gain, m.gainU, m.known }

// Expect returns the change of the mean to expect of a move, made or to be made, and
// its standard uncertainty: of the gain, of how the bearings seat, and of lag and slack.
func (m *AdjusterModel) Expect(v Move) (change, u float64) {
	return m.gain * v.Steps, math.Hypot(v.Steps*m.gainU, m.execution(v))
}

// execution is what a move may be off by with its gain known.
func (m *AdjusterModel) execution(v Move) float64 {
	lost := lagShare * math.Hypot(v.Steps, m.last) // what the last move left behind comes now
	if m.last*v.Steps <= 0 {
		lost = math.Hypot(lost, slackShare*v.Steps)
	}
	lost = math.Hypot(lost, slackShare*v.Uneven)
	return math.Hypot(seatU, lost*m.gain)
}

// Learn takes one move into account and reports whether it was used. Left out
// are moves that reversed or were not seated, those without numbers, those too
// small to tell from the scatter while the sign is not known, and those that
// contradict what is known by more than four standard deviations.
// Source: Bayesian linear update with a normal prior (conjugate).
func (m *AdjusterModel) Learn(v Move) bool {
	size := v.After - v.Before
	off := m.execution(v)
	if m.last = v.Steps; v.Reversed || !stat.Finite(v.Steps) {
		m.last = 0
	}
	if v.Reversed || v.Unseated || v.Steps == 0 || !stat.Finite(size) || !stat.Finite(v.Steps) {
		return false
	}
	rounds := math.Sqrt(stat.Square(v.BeforeU) + stat.Square(v.AfterU)) // one that is not known counts as none
	slope, slopeU := size/v.Steps, math.Hypot(off, rounds)/math.Abs(v.Steps)
	gain := m.gain
	if !m.known {
		gain = math.Copysign(m.prior, slope)
	}
	// Lag and slack make a move smaller, and do not turn it round.
	if !m.known && math.Abs(size) < 2*math.Hypot(seatU, rounds) || math.Abs(slope-gain) > 4*math.Hypot(slopeU, m.gainU) {
		return false
	}
	weight := m.gainU * m.gainU / (m.gainU*m.gainU + slopeU*slopeU)
	m.gain = gain + weight*(slope-gain)
	m.gainU *= math.Sqrt(1 - weight)
	m.known = true
	return true
}

// AdviceOptions says what kind of adjuster there is and what to aim at.
type AdviceOptions struct {
	Shims   bool    // shims change sides; else threaded adjusters with notches
	Whole   bool    // the lock holds no half notch
	Box     Box     // of shims
	AsFound float64 // mean as found of a used gear set, mm; 0 or NaN: aim at mid-window
	Beyond  bool    // AsFound lies beyond the maker's window, and the round was analysed by one round it
}

// What is moved at once at most. Common practice, no source.
const (
	mostNotches = 2
	mostShim    = 0.2 // mm
)

// Advise says how to move the adjusters so that the round comes to lie in the
// window. r must have every position that is going to count; spec is in mm.
func (m *AdjusterModel) Advise(r analysis.Round, spec analysis.RoundSpec, o AdviceOptions) Advice {
	a := Advice{
		Predicted: math.NaN(), PredictedU: math.NaN(), Target: math.NaN(), SignKnown: m.known, Gain: m.gain, GainU: m.gainU,
		Shims: o.Shims, Whole: o.Whole, Mean: r.Mean, Spread: r.Spread, Room: spreadLimit(spec),
	}
	switch {
	case r.N == 0:
		a.Outcome = NothingMeasured
		return a
	case math.IsNaN(spec.Limits.Middle()):
		a.Outcome = OpenWindow
		return a
	}
	over := gum.Below(a.Room, r.Spread)
	if over && gum.Below(a.Room+analysis.SpreadFactor(r.N)*r.SpreadU, r.Spread) {
		a.Outcome = SpreadTooWide
		return a
	}
	m.move(&a, r, spec, o)
	if over {
		a.Again = []int{r.Tightest.Position, r.Loosest.Position}
	}
	return a
}

// move fills in the move to make, or why there is none.
func (m *AdjusterModel) move(a *Advice, r analysis.Round, spec analysis.RoundSpec, o AdviceOptions) {
	low, high := judged(r, spec.Rule)
	// How far the mean may go from where it is, for what the rule looks at to be inside.
	room := gum.Limits{Lower: spec.Limits.Lower - low, Upper: spec.Limits.Upper - high, Unit: "mm"}
	centred := r.Mean + room.Middle()
	a.Target = target(r, spec, o, centred)
	a.AimAsFound = math.Abs(a.Target-o.AsFound) < 0.0005 // as it is written
	aimed := o.Beyond || a.Target != centred
	if r.Verdict == gum.Inside && !(aimed && math.Abs(a.Target-r.Mean) > math.Abs(m.gain)/2) {
		a.Outcome = AlreadyInside
		if o.Beyond {
			a.Outcome = NearEnough // the maker's window is not met
		}
		return
	}
	steps := m.steps(a.Target-r.Mean, room, o)
	near, far, ok := Side{By: steps}, Side{By: -steps}, true
	if o.Shims && o.Box.Known() && steps != 0 {
		wanted := steps
		near, far, ok = o.Box.Stacks(steps)
		steps = (near.By - far.By) / 2
		ok = ok && math.Abs(steps-wanted) < math.Abs(wanted)
	}
	switch {
	case !ok:
		a.Outcome = NoStack
	case steps == 0 && room.Contains(0):
		a.Outcome, a.TooClose = NearEnough, r.Verdict == gum.TooClose
	case steps == 0:
		a.Outcome = OutOfReach
	default:
		change, u := m.Expect(Move{Steps: steps})
		a.Needed, a.Outcome, a.Steps, a.Near, a.Far = true, MoveNeeded, steps, near, far
		a.Predicted, a.PredictedU = r.Mean+change, u
		a.Coarse = !room.Contains(change) && math.Abs(a.Target-a.Predicted) <= math.Abs(m.gain)
	}
}

// spreadLimit returns the room that the spread has.
func spreadLimit(spec analysis.RoundSpec) float64 {
	limit := math.Inf(1)
	if spec.Rule == "" || spec.Rule == analysis.RuleAllInside {
		limit = spec.Limits.Width()
	}
	if spec.MaxSpread > 0 {
		limit = math.Min(limit, spec.MaxSpread)
	}
	return limit
}

// judged returns the lowest and the highest value that the rule looks at: the
// extremes, the tightest alone, or for any one inside the mean.
func judged(r analysis.Round, rule string) (low, high float64) {
	switch rule {
	case analysis.RuleTightestInside:
		return r.Tightest.Value, r.Tightest.Value
	case analysis.RuleAnyInside:
		return r.Mean, r.Mean
	}
	return r.Tightest.Value, r.Loosest.Value
}

// target returns the mean to aim at: the one that centres what the rule looks at, or
// the as-found mean of a used set when that lies within the limits, moved no further
// than keeps the extremes inside by what is not known of them.
func target(r analysis.Round, spec analysis.RoundSpec, o AdviceOptions, centred float64) float64 {
	inside := func(p analysis.RoundPoint) float64 { return 2 * math.Sqrt(stat.Square(p.U)) }
	lowest := spec.Limits.Lower + inside(r.Tightest) + r.Mean - r.Tightest.Value
	highest := spec.Limits.Upper - inside(r.Loosest) + r.Mean - r.Loosest.Value
	if spec.Rule != "" && spec.Rule != analysis.RuleAllInside {
		highest = math.Inf(1)
	}
	// Too wide a spread cannot be proven inside anywhere.
	if !(o.AsFound > 0) || !spec.Limits.Contains(o.AsFound) || lowest > highest {
		return centred
	}
	return math.Max(lowest, math.Min(highest, o.AsFound))
}

// fairChance is how likely a move must be to bring the round inside for that to
// decide; else the one that misses the aim by least does.
const fairChance = 0.2

// steps returns the move most likely to bring the round inside its room. When
// none has a fair chance it is the one with the least expected square of what
// is missing, (change-gain·s)² + s²·u(gain)²: an uncertain gain moves less.
func (m *AdjusterModel) steps(change float64, room gum.Limits, o AdviceOptions) float64 {
	if o.Shims {
		s := change * m.gain / (m.gain*m.gain + m.gainU*m.gainU)
		return math.Round(math.Max(-mostShim, math.Min(mostShim, s))*100) / 100
	}
	if !m.known && !room.Contains(0) {
		return math.Copysign(1, change*m.gain) // what a notch does is not known: this move shows it
	}
	loss := func(s float64) float64 {
		miss := change - m.gain*s
		return miss*miss + s*s*m.gainU*m.gainU
	}
	nearest, likely, chance := 0.0, 0.0, fairChance
	for halves := -2 * mostNotches; halves <= 2*mostNotches; halves++ {
		s := float64(halves) / 2
		// The half-notch side of a lock is for what whole notches cannot reach.
		half := halves%2 != 0
		if half && (o.Whole || room.Contains(0)) {
			continue
		}
		if loss(s) < loss(nearest) {
			nearest = s
		}
		if s == 0 || room.Contains(0) {
			continue
		}
		gain, u := m.Expect(Move{Steps: s})
		p := gum.ConformanceProbability(gain, u, room)
		if half {
			p -= fairChance
		}
		if p > chance {
			likely, chance = s, p
		}
	}
	if likely != 0 {
		return likely
	}
	return nearest
}
