package setup

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
)

// A hiddenSet is an invented gear set whose gain the model does not know.
type hiddenSet struct {
	mean, gain float64
	shape      [8]float64
	rnd        *rand.Rand
}

func newHiddenSet(seed int64, spread float64) *hiddenSet {
	h := &hiddenSet{rnd: rand.New(rand.NewSource(seed))}
	h.gain = UsualNotchGain * (0.6 + 0.8*h.rnd.Float64())
	if h.rnd.Intn(5) > 0 {
		h.gain = -h.gain // the usual layout
	}
	phase := 2 * math.Pi * h.rnd.Float64()
	for i := range h.shape {
		h.shape[i] = spread / 2 * math.Cos(2*math.Pi*float64(i)/8+phase)
	}
	return h
}

func (h *hiddenSet) move(notches float64) {
	h.mean += h.gain*notches + 0.003*h.rnd.NormFloat64()
}

// round measures all positions with an uncertainty of 2 µm.
func (h *hiddenSet) round(spec analysis.RoundSpec) analysis.Round {
	var p []analysis.RoundPoint
	for i, s := range h.shape {
		p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: 45 * float64(i), Value: h.mean + s + 0.002*h.rnd.NormFloat64(), U: 0.002})
	}
	return analysis.AnalyseRound(p, 8, spec)
}

func (h *hiddenSet) inside(mean float64, l gum.Limits) bool {
	for _, s := range h.shape {
		if !l.Contains(mean + s) {
			return false
		}
	}
	return true
}

// reachable reports whether some whole number of notches, six at most, puts
// the whole spread clearly inside.
func (h *hiddenSet) reachable(l gum.Limits) bool {
	room := gum.Limits{Lower: l.Lower + 0.006, Upper: l.Upper - 0.006, Unit: ""}
	for k := -6.0; k <= 6; k++ {
		if h.inside(h.mean+k*h.gain, room) {
			return true
		}
	}
	return false
}

func TestAdjusterLoop(t *testing.T) {
	for name, spec := range map[string]analysis.RoundSpec{
		"0.13 to 0.20": {Limits: gum.Limits{Lower: 0.13, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""},
		"0.15 to 0.20": {Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""},
		"0.08 to 0.25": {Limits: gum.Limits{Lower: 0.08, Upper: 0.25, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""},
	} {
		t.Run(name, func(t *testing.T) {
			jobs, good, moves, signs := 0, 0, 0, 0
			for seed := int64(0); jobs < 500; seed++ {
				h := newHiddenSet(seed, 0.005+0.025*rand.New(rand.NewSource(seed)).Float64())
				h.mean = 0.17 + 0.36*(h.rnd.Float64()-0.5)
				if h.mean < 0.03 || !h.reachable(spec.Limits) {
					continue
				}
				jobs++
				model := NewAdjusterModel(UsualNotchGain, UsualNotchGainU)
				made := 0
				before := h.round(spec)
				for ; made < 3; made++ {
					a := model.Advise(before, spec, AdviceOptions{})
					if !a.Needed {
						break
					}
					require.True(t, a.Steps != 0 && a.Steps >= -2 && a.Steps <= 2)
					h.move(a.Steps)
					after := h.round(spec)
					model.Learn(Move{Steps: a.Steps, Before: before.Mean, After: after.Mean, BeforeU: 0.0007, AfterU: 0.0007})
					before = after
				}
				moves += made
				if h.inside(h.mean, spec.Limits) {
					good++
				}
				if gain, _, known := model.Gain(); made > 0 && known && gain*h.gain > 0 {
					signs++
				} else if made == 0 {
					signs++
				}
			}
			t.Logf("inside in at most 3 moves: %d of %d; moves a job %.2f; sign right %d", good, jobs, float64(moves)/float64(jobs), signs)
			assert.GreaterOrEqual(t, good, 475)
			assert.GreaterOrEqual(t, signs, 495)
		})
	}
}

func TestSpreadCannotFit(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	for seed := range int64(200) {
		h := newHiddenSet(seed, 0.07)
		h.mean = 0.25
		a := NewAdjusterModel(0.08, 0.03).Advise(h.round(spec), spec, AdviceOptions{})
		assert.False(t, a.Needed)
		assert.Zero(t, a.Steps)
		assert.Equal(t, SpreadTooWide, a.Outcome)
	}
	limit := spec
	limit.MaxSpread = 0.03
	h := newHiddenSet(1, 0.05)
	h.mean = 0.175
	tight := NewAdjusterModel(0, 0).Advise(h.round(limit), limit, AdviceOptions{})
	assert.Equal(t, SpreadTooWide, tight.Outcome)
	assert.InDelta(t, 0.030, tight.Room, 1e-9)
}

func flatRound(mean, spread float64, spec analysis.RoundSpec) analysis.Round {
	var p []analysis.RoundPoint
	for i := range 8 {
		p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: 45 * float64(i), Value: mean + spread/2*math.Cos(float64(i)*math.Pi/4), U: 0.002})
	}
	return analysis.AnalyseRound(p, 8, spec)
}

func TestAdviceText(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	m := NewAdjusterModel(0.08, 0.02)
	a := m.Advise(flatRound(0.335, 0.02, spec), spec, AdviceOptions{})
	assert.True(t, a.Needed)
	assert.Equal(t, 1.0, a.Steps, "what a notch does is not known: one shows it")
	assert.False(t, a.SignKnown)
	assert.InDelta(t, 0.255, a.Predicted, 1e-9)
	assert.InDelta(t, math.Sqrt(0.02*0.02+0.004*0.004+0.08*0.08*(0.01+0.0625)), a.PredictedU, 1e-9, "gain, seat, lag and slack")
	assert.Equal(t, MoveNeeded, a.Outcome)

	require.True(t, m.Learn(Move{Steps: 2, Before: 0.335, After: 0.215, BeforeU: 0.001, AfterU: 0.001}))
	gain, u, known := m.Gain()
	assert.True(t, known)
	// -0.06 was measured, beside -0.08 ± 0.02: seat and rounds shared by two notches, lag and slack not.
	weight := 0.0004 / (0.0004 + (16e-6+2e-6)/4 + 0.0064*(0.01+0.0625))
	assert.InDelta(t, -0.08+weight*0.02, gain, 1e-9)
	assert.InDelta(t, 0.02*math.Sqrt(1-weight), u, 1e-9)
	on, uOn := m.Expect(Move{Steps: 1})
	back, uBack := m.Expect(Move{Steps: -1})
	assert.InDelta(t, on, -back, 1e-12)
	assert.InDelta(t, math.Sqrt(u*u+16e-6+0.05*gain*gain), uOn, 1e-9, "on the same way no slack, and what two notches left behind")
	assert.InDelta(t, math.Sqrt(u*u+16e-6+(0.05+0.0625)*gain*gain), uBack, 1e-9)
	other := m.Advise(flatRound(0.10, 0.01, spec), spec, AdviceOptions{})
	assert.Equal(t, -1.0, other.Steps)
	assert.True(t, other.SignKnown)

	assert.Equal(t, AlreadyInside, m.Advise(flatRound(0.175, 0.02, spec), spec, AdviceOptions{}).Outcome)
	assert.Equal(t, NothingMeasured, m.Advise(analysis.Round{}, spec, AdviceOptions{}).Outcome)
	open := analysis.RoundSpec{Limits: gum.Limits{Lower: math.NaN(), Upper: 0.2, Unit: "mm"}}
	assert.Equal(t, OpenWindow, m.Advise(flatRound(0.3, 0, open), open, AdviceOptions{}).Outcome)
	wide := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.25, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	fine := m.Advise(flatRound(0.24, 0.014, wide), wide, AdviceOptions{AsFound: 0.23})
	assert.Equal(t, NearEnough, fine.Outcome)
}

// While what a notch does is only assumed, nobody says that none can reach the
// window; once it is known, half notches are tried before that is said.
func TestReachIsLearnedFirst(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}}
	for _, mean := range []float64{0.09, 0.145, 0.206, 0.3} {
		a := NewAdjusterModel(0.11, 0.11/4).Advise(flatRound(mean, 0, spec), spec, AdviceOptions{})
		assert.Equal(t, 1.0, math.Abs(a.Steps), mean)
		assert.Equal(t, MoveNeeded, a.Outcome, mean)
	}
	learned := func(gain float64) *AdjusterModel {
		m := NewAdjusterModel(gain, gain/4)
		for range 4 {
			require.True(t, m.Learn(Move{Steps: 1, Before: 0.3 + gain, After: 0.3}))
		}
		return m
	}
	assert.Equal(t, 0.5, learned(0.08).Advise(flatRound(0.215, 0.01, spec), spec, AdviceOptions{}).Steps)
	whole := learned(0.08).Advise(flatRound(0.215, 0.01, spec), spec, AdviceOptions{Whole: true})
	assert.Equal(t, OutOfReach, whole.Outcome, "no half notch in the lock, and a whole one lands as far off")
	assert.Equal(t, 1.0, learned(0.04).Advise(flatRound(0.215, 0.01, spec), spec, AdviceOptions{}).Steps, "a whole one does")
	none := learned(0.3).Advise(flatRound(0.22, 0.01, spec), spec, AdviceOptions{})
	assert.False(t, none.Needed)
	assert.Equal(t, OutOfReach, none.Outcome)
}

func TestWhatAModelStartsWith(t *testing.T) {
	for _, c := range []struct{ size, sd, gain, u float64 }{
		{-0.05, 0.01, -0.05, 0.01}, {0.05, 0, -0.05, 0.05 * 0.03 / 0.08}, {0, 0.01, -0.08, 0.03},
		{math.Inf(1), 0.01, -0.08, 0.03}, {0.05, math.Inf(1), -0.05, 0.05 * 0.03 / 0.08},
	} {
		gain, u, known := NewAdjusterModel(c.size, c.sd).Gain()
		assert.InDelta(t, c.gain, gain, 1e-12, "%v", c)
		assert.InDelta(t, c.u, u, 1e-12, "%v", c)
		assert.False(t, known)
	}
	size, sd, err := GainFromGeometry(1.5, 1, 0.86)
	require.NoError(t, err, "one notch in a turn is a notch")
	assert.InDelta(t, 1.29, size, 1e-12)
	assert.InDelta(t, 1.29/4, sd, 1e-12)
}

// After a move that was turned back nobody knows which way the slack lies.
func TestSlackAfterAMoveTakenBack(t *testing.T) {
	m := NewAdjusterModel(0.08, 0.02)
	require.True(t, m.Learn(Move{Steps: 1, Before: 0.3, After: 0.22}))
	_, on := m.Expect(Move{Steps: 1})
	m.Learn(Move{Steps: 1, Before: 0.22, After: 0.2, Reversed: true})
	gain, gainU, _ := m.Gain()
	_, after := m.Expect(Move{Steps: 1})
	assert.Greater(t, after, on)
	assert.InDelta(t, math.Sqrt(gainU*gainU+16e-6+gain*gain*(0.01+0.0625)), after, 1e-12)
}

// What a move may be off by, part by part: its gain, 4 µm of how the bearings seat, a
// tenth of it and of the one before that the cups follow later, a quarter where the
// thread turns round or one side goes in by more than the other comes out.
func TestDoubtOfAMove(t *testing.T) {
	m := NewAdjusterModel(0.08, 0.02)
	doubt := func(v Move) float64 {
		_, u := m.Expect(v)
		return u
	}
	first := 4*0.02*0.02 + 16e-6 + 0.08*0.08*(0.2*0.2+0.5*0.5)
	assert.InDelta(t, math.Sqrt(first), doubt(Move{Steps: 2}), 1e-12)
	assert.InDelta(t, math.Sqrt(first+0.08*0.08*0.25*0.25), doubt(Move{Steps: 2, Uneven: 1}), 1e-12)
	require.True(t, m.Learn(Move{Steps: 1, Before: 0.3, After: 0.22}))
	gain, gainU, _ := m.Gain()
	change, _ := m.Expect(Move{Steps: 2})
	assert.InDelta(t, 2*gain, change, 1e-12)
	assert.InDelta(t, math.Sqrt(4*gainU*gainU+16e-6+gain*gain*0.01*(4+1)), doubt(Move{Steps: 2}), 1e-12, "on")
	assert.InDelta(t, math.Sqrt(4*gainU*gainU+16e-6+gain*gain*(0.01*(4+1)+0.25)), doubt(Move{Steps: -2}), 1e-12, "back")
}

// Shims go by the expected square of the miss: 0.065 mm off at 0.65 ± 0.325 per mm
// is moved by 0.8 of what 0.65 alone would ask.
func TestUncertainShimsMoveLess(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}}
	a := NewAdjusterModel(0.65, 0.325).Advise(flatRound(0.24, 0.01, spec), spec, AdviceOptions{Shims: true})
	assert.InDelta(t, 0.08, a.Steps, 1e-9)
}

// Before the crown wheel comes off, the spread must be too large beyond what
// chance makes of eight readings.
func TestSpreadTooCloseToTell(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.13, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	round := func(u float64) analysis.Round {
		return analysis.AnalyseRound(positions(u, 0.130, 0.201, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16), 8, spec)
	}
	m := NewAdjusterModel(0.08, 0.02)
	close := m.Advise(round(0.0025), spec, AdviceOptions{})
	assert.NotEqual(t, SpreadTooWide, close.Outcome)
	assert.Equal(t, []int{1, 2}, close.Again)
	assert.InDelta(t, 0.071, close.Spread, 1e-9)
	assert.InDelta(t, 0.070, close.Room, 1e-9)
	assert.NotEqual(t, SpreadTooWide, m.Advise(round(math.NaN()), spec, AdviceOptions{}).Outcome, "nothing is proven without the uncertainty")
	assert.Equal(t, SpreadTooWide, m.Advise(round(0.0002), spec, AdviceOptions{}).Outcome)
}

func TestShimAdvice(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	a := NewAdjusterModel(0.65, 0.05).Advise(flatRound(0.24, 0.01, spec), spec, AdviceOptions{Shims: true})
	assert.InDelta(t, 0.10, a.Steps, 0.011, "x = change/0.65")
	assert.True(t, a.Shims)
	a = NewAdjusterModel(0.65, 0.05).Advise(flatRound(0.9, 0.01, spec), spec, AdviceOptions{Shims: true})
	assert.Equal(t, 0.2, a.Steps, "no more than 0.2 mm at once")
}

func TestUsedSetAimsAtAsFound(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.08, Upper: 0.25, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	m := NewAdjusterModel(0.03, 0.005)
	a := m.Advise(flatRound(0.14, 0.02, spec), spec, AdviceOptions{AsFound: 0.21})
	assert.InDelta(t, 0.21, a.Target, 1e-9)
	assert.Negative(t, a.Steps)
	a = m.Advise(flatRound(0.14, 0.02, spec), spec, AdviceOptions{AsFound: 0.40})
	assert.False(t, a.Needed, "an as-found figure outside the maker's limits is no aim")
	for aim, wanted := range map[float64]Outcome{0.154: AlreadyInside, 0.156: MoveNeeded, 0.126: AlreadyInside, 0.124: MoveNeeded} {
		assert.Equal(t, wanted, m.Advise(flatRound(0.14, 0.02, spec), spec, AdviceOptions{AsFound: aim}).Outcome, "half of a notch's 0.03 from 0.14: %g", aim)
	}
	a = m.Advise(flatRound(0.14, 0.08, spec), spec, AdviceOptions{AsFound: 0.24})
	assert.InDelta(t, 0.21-2*0.002, a.Target, 1e-9, "no further than keeps the loosest inside by what is not known of it")
}

func TestMovesLeftOut(t *testing.T) {
	m := NewAdjusterModel(0.08, 0.03)
	for _, v := range []Move{
		{Steps: 1, Before: 0.3, After: 0.22, Reversed: true},
		{Steps: 1, Before: 0.3, After: 0.22, Unseated: true},
		{Steps: 0, Before: 0.3, After: 0.22},
		{Steps: 1, Before: math.NaN(), After: 0.22},
		{Steps: 1, Before: 0.3, After: 0.299},
	} {
		assert.False(t, m.Learn(v), "%+v", v)
	}
	_, _, known := m.Gain()
	assert.False(t, known)
	assert.True(t, m.Learn(Move{Steps: -1, Before: 0.2, After: 0.12}), "a layout the other way round")
	gain, _, known := m.Gain()
	assert.True(t, known)
	assert.Positive(t, gain)
	assert.False(t, m.Learn(Move{Steps: 1, Before: 0.2, After: 0.05}), "against all that is known")
}

func TestNoMoveTellsTheAimAndWhatWouldDecide(t *testing.T) {
	m := NewAdjusterModel(0.04, 0.01)
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}}
	advice := func(u float64) Advice {
		points := []analysis.RoundPoint{{Position: 1, AngleDeg: 0, Value: 0.17, U: u}, {Position: 2, AngleDeg: 90, Value: 0.19, U: u}, {Position: 3, AngleDeg: 180, Value: 0.20, U: u}, {Position: 4, AngleDeg: 270, Value: 0.18, U: u}}
		return m.Advise(analysis.AnalyseRound(points, 4, spec), spec, AdviceOptions{AsFound: 0.18})
	}
	fine, coarse := advice(0.002), advice(0.006)
	assert.True(t, fine.AimAsFound)
	assert.True(t, fine.TooClose)
	assert.False(t, coarse.AimAsFound, "the middle, where nothing can be proven")
	assert.True(t, coarse.TooClose)
	assert.InDelta(t, 0.18, fine.Target, 1e-12)
}

func positions(u float64, v ...float64) []analysis.RoundPoint {
	var p []analysis.RoundPoint
	for i, x := range v {
		p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: 360 * float64(i) / float64(len(v)), Value: x, U: u})
	}
	return p
}

// Whatever the move, each side ends as far as it should and tightening.
func TestTurnsFinishTightening(t *testing.T) {
	for _, notches := range []float64{1, -1, 2, -2, 0.5, -0.5, 1.5} {
		net, last := map[bool]float64{}, map[bool]bool{}
		for _, turn := range Turns(notches) {
			net[turn.Near], last[turn.Near] = net[turn.Near]+turn.By, turn.By > 0
		}
		assert.Equal(t, map[bool]float64{true: notches, false: -notches}, net)
		assert.Equal(t, map[bool]bool{true: true, false: true}, last)
		assert.Equal(t, notches < 0, Turns(notches)[0].Near, "what gives way comes first")
	}
}
