package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"crownlog/analysis/gum"
)

func pointsOf(u float64, v ...float64) []RoundPoint {
	var p []RoundPoint
	for i, x := range v {
		p = append(p, RoundPoint{i + 1, 360 * float64(i) / float64(len(v)), x, u, 0, 0})
	}
	return p
}

// The window of 0.15 to 0.20 mm is common practice.
func TestRoundRules(t *testing.T) {
	nan := math.NaN()
	window := gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}
	for _, c := range []struct {
		name    string
		points  []RoundPoint
		spec    RoundSpec
		verdict gum.Verdict
		why     Why
	}{
		{"all inside", pointsOf(0.002, 0.17, 0.18, 0.175, 0.165), RoundSpec{window, nan, nan, ""}, gum.Inside, Why{Part: PartAll}},
		{"one out", pointsOf(0.002, 0.17, 0.21, 0.175, 0.165), RoundSpec{window, nan, nan, RuleAllInside}, gum.Outside, Why{Part: PartPositions, Positions: []int{2}}},
		{"two too close", pointsOf(0.002, 0.17, 0.199, 0.151, 0.165), RoundSpec{window, nan, nan, ""}, gum.TooClose, Why{Part: PartPositions, Positions: []int{2, 3}}},
		{"spread too large", pointsOf(0.002, 0.16, 0.19, 0.175, 0.175), RoundSpec{window, 0.02, nan, ""}, gum.Outside, Why{Part: PartSpread, Value: 0.03, Limit: 0.02}},
		{"tightest inside, loosest out of it", pointsOf(0.002, 0.18, 0.22, 0.2, 0.19), RoundSpec{window, 0.05, nan, RuleTightestInside}, gum.Inside, Why{Part: PartAll, Positions: []int{1}}},
		{"tightest below", pointsOf(0.002, 0.13, 0.17, 0.15, 0.16), RoundSpec{window, 0.05, nan, RuleTightestInside}, gum.Outside, Why{Part: PartTightest, Positions: []int{1}, Value: 0.13}},
		{"any inside", pointsOf(0.002, 0.10, 0.17, 0.11, 0.12), RoundSpec{window, 0.08, 0.05, RuleAnyInside}, gum.Inside, Why{Part: PartAll, Positions: []int{2}}},
		{"any inside, below the floor", pointsOf(0.002, 0.04, 0.17, 0.11, 0.12), RoundSpec{window, nan, 0.05, RuleAnyInside}, gum.Outside, Why{Part: PartFloor, Positions: []int{1}, Limit: 0.05}},
		{"none inside", pointsOf(0.002, 0.10, 0.11, 0.12, 0.13), RoundSpec{window, nan, nan, RuleAnyInside}, gum.Outside, Why{Part: PartNoneInside}},
		{"no window", pointsOf(0.002, 0.1, 0.2), RoundSpec{gum.NoLimits("mm"), nan, nan, ""}, gum.NotDecided, Why{Part: PartNoWindow, Reason: gum.NoWindow}},
		{"no uncertainty known", pointsOf(nan, 0.17, 0.18), RoundSpec{window, nan, nan, ""}, gum.NotDecided, Why{Part: PartPositions, Reason: gum.UnknownInside}},
		{"no uncertainty known, one out", pointsOf(nan, 0.17, 0.21), RoundSpec{window, nan, nan, ""}, gum.NotDecided, Why{Part: PartPositions, Positions: []int{2}, Reason: gum.UnknownOutside}},
		{"the uncertainty of one known, and it is out", append(pointsOf(0.002, 0.25), RoundPoint{2, 90, 0.17, 0, 0, 0}), RoundSpec{window, nan, nan, ""}, gum.Outside, Why{Part: PartPositions, Positions: []int{1}}},
		{"the tightest of unknown uncertainty", pointsOf(nan, 0.17, 0.21), RoundSpec{window, nan, nan, RuleTightestInside}, gum.NotDecided, Why{Part: PartTightest, Positions: []int{1}, Value: 0.17, Reason: gum.UnknownInside}},
		{"spread of unknown uncertainty", pointsOf(nan, 0.17, 0.18), RoundSpec{gum.NoLimits("mm"), 0.05, nan, ""}, gum.NotDecided, Why{Part: PartSpread, Value: 0.01, Limit: 0.05, Reason: gum.UnknownInside}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := AnalyseRound(c.points, len(c.points), c.spec)
			assert.Equal(t, c.verdict, r.Verdict)
			assert.InDelta(t, c.why.Value, r.Why.Value, 1e-12)
			c.why.Value, c.why.Rule = r.Why.Value, c.spec.rule()
			assert.Equal(t, c.why, r.Why)
		})
	}
}

func TestRoundMissing(t *testing.T) {
	spec := RoundSpec{gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, math.NaN(), math.NaN(), ""}
	p := pointsOf(0.002, 0.17, 0.18, math.NaN(), 0.165)
	r := AnalyseRound(p, 6, spec)
	assert.Equal(t, 3, r.N)
	assert.Equal(t, []int{3, 5, 6}, r.Missing)
	assert.Equal(t, gum.NotDecided, r.Verdict)
	assert.Equal(t, Why{Part: PartMissing, Rule: RuleAllInside, Positions: []int{3, 5, 6}}, r.Why)
	p[0].Value = 0.3
	assert.Equal(t, gum.Outside, AnalyseRound(p, 6, spec).Verdict, "failure is proven without the rest")
	spec.Rule = RuleAnyInside
	assert.Equal(t, gum.NotDecided, AnalyseRound(pointsOf(0.002, 0.1, 0.1), 4, spec).Verdict, "one of the rest may be inside")
	open := AnalyseRound(p, 6, RoundSpec{gum.NoLimits("mm"), math.NaN(), math.NaN(), ""})
	assert.Equal(t, PartNoWindow, open.Why.Part, "missing or not")
	none := AnalyseRound(nil, 2, spec)
	assert.True(t, math.IsNaN(none.Mean))
	assert.Equal(t, []int{1, 2}, none.Missing)
	assert.Equal(t, PartNothing, none.Why.Part)
	again := AnalyseRound(append(pointsOf(0.002, 0.1, 0.2), RoundPoint{1, 0, 0.16, 0.002, 0, 0}), 2, spec)
	assert.Equal(t, 0.16, again.Tightest.Value, "the later of two counts")
}

func TestRoundHarmonics(t *testing.T) {
	wave := func(n int) []RoundPoint {
		var p []RoundPoint
		for i := range n {
			a := 360 * float64(i) / float64(n)
			p = append(p, RoundPoint{i + 1, a, 0.17 + 0.02*math.Cos((a-100)*math.Pi/180) + 0.005*math.Cos(2*(a-20)*math.Pi/180), 0.002, 0, 0})
		}
		return p
	}
	r := AnalyseRound(wave(8), 8, RoundSpec{})
	assert.True(t, r.H2Known)
	assert.InDelta(t, 0.02, r.H1.Amplitude, 1e-12)
	assert.InDelta(t, 100, r.H1.PhaseDeg, 1e-9)
	assert.InDelta(t, 20, r.H2.PhaseDeg, 1e-9)
	r = AnalyseRound(wave(6), 6, RoundSpec{})
	assert.False(t, r.H2Known)
	assert.InDelta(t, 0.02, r.H1.Amplitude, 1e-12)
	r = AnalyseRound(wave(2), 2, RoundSpec{})
	assert.Zero(t, r.H1.Amplitude)
}

func TestRoundOrderDoesNotMatter(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 14).Draw(t, "n")
		var p []RoundPoint
		for i := range n {
			p = append(p, RoundPoint{i + 1, rapid.Float64Range(0, 360).Draw(t, "angle"), rapid.Float64Range(0.1, 0.3).Draw(t, "v"), rapid.Float64Range(0.001, 0.02).Draw(t, "u"), 0, 0})
		}
		spec := RoundSpec{gum.Limits{Lower: 0.15, Upper: 0.25, Unit: "mm"}, rapid.SampledFrom([]float64{0, 0.05, 0.2}).Draw(t, "spread"), 0.12,
			rapid.SampledFrom([]string{"", RuleAllInside, RuleTightestInside, RuleAnyInside}).Draw(t, "rule")}
		want := AnalyseRound(p, n, spec)
		got := AnalyseRound(rapid.Permutation(p).Draw(t, "order"), n, spec)
		assert.Equal(t, want.Verdict, got.Verdict)
		assert.Equal(t, want.Why, got.Why)
		assert.Equal(t, want.Outside, got.Outside)
		assert.Equal(t, want.H1, got.H1)
		assert.Equal(t, want.Mean, got.Mean)
		assert.Equal(t, want.Tightest, got.Tightest)
	})
}

func TestPointsThatCountTwice(t *testing.T) {
	p := []RoundPoint{{2, 90, 0.2, 0.01, 0, 0}, {1, 0, 0.1, 0.01, 0, 0}, {2, 90, 0.3, 0.01, 0, 0}, {0, 5, 0.4, 0.01, 0, 0}, {0, 5, 0.35, 0.01, 0, 0}, {3, 1, math.Inf(1), 0.01, 0, 0}}
	assert.Equal(t, []RoundPoint{{0, 5, 0.35, 0.01, 0, 0}, {0, 5, 0.4, 0.01, 0, 0}, {1, 0, 0.1, 0.01, 0, 0}, {2, 90, 0.3, 0.01, 0, 0}}, LatestPoints(p),
		"position 0 is none in particular")
	assert.Equal(t, 3, DistinctAngles([]float64{0, 360, 359.97, -720.04, 0.2, 90}))
	assert.Equal(t, 4, DistinctAngles([]float64{0, 360.2, 0.4, 90}))
	unplaced := AnalyseRound([]RoundPoint{{1, 0, 0.1, 0.01, 0, 0}, {2, 90, 0.2, 0.01, 0, 0}, {3, math.NaN(), 0.3, 0.01, 0, 0}, {4, 180, 0.1, 0.01, 0, 0}}, 4, RoundSpec{})
	assert.Zero(t, unplaced.H1.Amplitude)
	assert.True(t, math.IsNaN(unplaced.ResidualSD), "an angle is not known")
}

func TestTrace(t *testing.T) {
	s := []Sample{{2, 5}, {3, 7}, {7, 6}}
	assert.Equal(t, 5.0, Span(s))
	assert.Zero(t, Span(nil))
	assert.Equal(t, []float64{5, 7, 6}, Values(s))
	assert.Equal(t, []float64{2, 3, 7}, Times(s))
}

func TestOrdersOfHarmonics(t *testing.T) {
	var angle, value []float64
	for i := range 12 {
		a := 30 * float64(i)
		angle, value = append(angle, a), append(value, 1+0.5*math.Cos(3*(a-100)*math.Pi/180))
	}
	f, err := FitHarmonics(angle, value, 3)
	assert.NoError(t, err)
	assert.InDelta(t, 100, f.Harmonics[0].PhaseDeg, 1e-9)
	assert.InDelta(t, 1.25, f.At(120), 1e-9)
}
