package setup

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// An axle is an invented one that does what adjusters do in a workshop: threads
// with slack where the direction turns, cups that follow later, caps that shift
// the wheel when torqued.
type axle struct {
	rnd              *rand.Rand
	mean, gain       float64
	slack, lag       float64 // shares of a notch, and of a move
	behind, way, cap float64
	seat, hand       float64 // of a move, and half width of what each round has in common
	shape            [8]float64
}

func newAxle(seed int64) *axle {
	rnd := rand.New(rand.NewSource(seed))
	a := &axle{rnd: rnd, gain: -(0.02 + 0.07*rnd.Float64()), slack: 0.3 * rnd.Float64(), lag: 0.2 * rnd.Float64(), cap: -0.002 + 0.003*rnd.NormFloat64(), seat: 0.003}
	if rnd.Intn(5) == 0 {
		a.gain = -a.gain
	}
	a.mean = 0.165 + 0.3*(rnd.Float64()-0.5)
	spread, phase := 0.005+0.02*rnd.Float64(), 2*math.Pi*rnd.Float64()
	for i := range a.shape {
		a.shape[i] = spread / 2 * math.Cos(2*math.Pi*float64(i)/8+phase)
	}
	return a
}

// roughAxle has more of all of it, teeth that differ, and a hand that nobody measured.
func roughAxle(seed int64) *axle {
	a := newAxle(seed)
	a.slack, a.lag, a.cap, a.seat, a.hand = a.slack*5/3, a.lag*7/4, -0.008+0.004*a.rnd.NormFloat64(), 0.005, 0.0046
	for i := range a.shape {
		a.shape[i] += 0.0015 * a.rnd.NormFloat64()
	}
	return a
}

func (a *axle) move(notches float64) {
	if a.way*notches <= 0 {
		notches -= math.Copysign(math.Min(a.slack, math.Abs(notches)), notches)
		a.way = math.Copysign(1, notches)
	}
	a.mean += a.behind + (1-a.lag)*a.gain*notches + a.seat*a.rnd.NormFloat64()
	a.behind = a.lag * a.gain * notches
}

// torqueCaps lets the cups follow, and shifts the wheel.
func (a *axle) torqueCaps() {
	a.mean += a.behind + a.cap
	a.behind = 0
}

func (a *axle) slackenCaps() { a.mean -= a.cap }

func (a *axle) round(spec analysis.RoundSpec) analysis.Round {
	var p []analysis.RoundPoint
	pushed := a.hand * (2*a.rnd.Float64() - 1)
	for i, s := range a.shape {
		p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: 45 * float64(i), Value: a.mean + s + pushed + 0.0015*a.rnd.NormFloat64(), U: math.Hypot(0.002, gum.Rectangular(a.hand))})
	}
	return analysis.AnalyseRound(p, 8, spec)
}

func (a *axle) truly(l gum.Limits) bool {
	for _, s := range a.shape {
		if !l.Contains(a.mean + s) {
			return false
		}
	}
	return true
}

// An adviser says what to move after a round, 0 to stop, and learns from moves.
type adviser interface {
	advise(analysis.Round, analysis.RoundSpec) float64
	learn(Move)
}

// A patient fitter moves one notch at a time towards the middle until every
// reading is inside, the other way when the first one made it worse, and stops
// when a notch has carried past.
type patient struct {
	sign, last float64
}

func (p *patient) advise(r analysis.Round, spec analysis.RoundSpec) float64 {
	if len(r.Outside) == 0 {
		return 0
	}
	off := r.Mean - spec.Limits.Middle()
	if p.last != 0 && off*p.last < 0 {
		return 0
	}
	p.last = off
	return math.Copysign(1, off*p.sign)
}

func (p *patient) learn(m Move) {
	if m.Steps*(m.After-m.Before) > 0 == (p.sign > 0) {
		p.sign = -p.sign
	}
}

type advised struct{ *AdjusterModel }

func (a advised) advise(r analysis.Round, spec analysis.RoundSpec) float64 {
	return a.Advise(r, spec, AdviceOptions{}).Steps
}
func (a advised) learn(m Move) { a.Learn(m) }

// setUp follows the advice, torques the caps, looks again, and where another move is
// asked for slackens them for it.
func setUp(a *axle, by adviser, spec analysis.RoundSpec, z *[]float64) (moves int) {
	adjust := func(most int) (moved bool) {
		before := a.round(spec)
		for moves < most {
			n := by.advise(before, spec)
			if n == 0 {
				return moved
			}
			expected, u := 0.0, 1.0
			if m, ok := by.(advised); ok {
				change, uncertain := m.Expect(Move{Steps: n})
				expected, u = before.Mean+change, math.Hypot(uncertain, 0.001)
			}
			a.move(n)
			moves, moved = moves+1, true
			after := a.round(spec)
			by.learn(Move{Steps: n, Before: before.Mean, After: after.Mean, BeforeU: 0.0006, AfterU: 0.0006})
			if z != nil && moves > 1 {
				*z = append(*z, (after.Mean-expected)/u)
			}
			before = after
		}
		return moved
	}
	adjust(12)
	a.torqueCaps()
	for range 3 {
		before := a.round(spec)
		n := by.advise(before, spec)
		if n == 0 {
			break
		}
		a.slackenCaps()
		a.move(n)
		a.torqueCaps()
		moves++
		by.learn(Move{Steps: n, Before: before.Mean, After: a.round(spec).Mean, BeforeU: 0.0006, AfterU: 0.0006})
	}
	return moves
}

// Against the fitter who moves one notch at a time, on windows from narrow to
// wide: more axles truly inside when the caps are torqued, with no more moves.
func TestSixHundredAxles(t *testing.T) {
	total, z := 0, []float64{}
	for name, limits := range map[string]gum.Limits{
		"0.13 to 0.20": {Lower: 0.13, Upper: 0.20, Unit: "mm"}, "0.15 to 0.20": {Lower: 0.15, Upper: 0.20, Unit: "mm"}, "0.10 to 0.25": {Lower: 0.10, Upper: 0.25, Unit: "mm"},
	} {
		spec := analysis.RoundSpec{Limits: limits}
		inside, moves := [2]int{}, [2]int{}
		for seed := range int64(600) {
			for i, by := range []adviser{&patient{sign: 1}, advised{NewAdjusterModel(UsualNotchGain, UsualNotchGainU)}} {
				a := newAxle(seed)
				moves[i] += setUp(a, by, spec, []*[]float64{nil, &z}[i])
				if a.truly(limits) {
					inside[i]++
				}
			}
		}
		t.Logf("%s: one notch at a time %.1f %% inside with %.2f moves; as advised %.1f %% with %.2f", name,
			float64(inside[0])/6, float64(moves[0])/600, float64(inside[1])/6, float64(moves[1])/600)
		assert.GreaterOrEqual(t, inside[1], inside[0], name)
		assert.LessOrEqual(t, moves[1], moves[0], name)
		assert.GreaterOrEqual(t, inside[1], 570, name)
		total += inside[1]
	}
	assert.GreaterOrEqual(t, total, 1746, "97 in a hundred")
	assert.InDelta(t, 1, stat.StdDev(z), 0.25, "what a move does from the second on, in its stated uncertainties")
}

// On rougher axles, by another hand each round, 96 in a hundred are inside.
func TestRoughAxles(t *testing.T) {
	const axles = 300
	inside, byNotches := 0, 0
	for _, limits := range []gum.Limits{{Lower: 0.13, Upper: 0.20, Unit: "mm"}, {Lower: 0.15, Upper: 0.20, Unit: "mm"}, {Lower: 0.10, Upper: 0.25, Unit: "mm"}} {
		spec := analysis.RoundSpec{Limits: limits}
		for seed := range int64(axles) {
			a := roughAxle(seed)
			setUp(a, advised{NewAdjusterModel(UsualNotchGain, UsualNotchGainU)}, spec, nil)
			if a.truly(limits) {
				inside++
			}
			a = roughAxle(seed)
			setUp(a, &patient{sign: 1}, spec, nil)
			if a.truly(limits) {
				byNotches++
			}
		}
	}
	t.Logf("as advised %.1f %% inside, one notch at a time %.1f %%", float64(inside)/axles/3*100, float64(byNotches)/axles/3*100)
	assert.GreaterOrEqual(t, inside, 3*axles*96/100)
	assert.Less(t, byNotches, 3*axles*85/100, "and that is no easy task")
}
