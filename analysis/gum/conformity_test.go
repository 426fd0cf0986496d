package gum

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"crownlog/analysis/internal/check"
)

// Sources: JCGM 106:2012 examples (published to two or three figures,
// recomputed to 15) and ISO 14253-1:2017 with its 1.65 u guard (confirmed).
func TestConformityTable(t *testing.T) {
	words := map[string]Verdict{"conforms": Inside, "not proven": TooClose, "does not conform": Outside}
	for _, row := range check.Rows(t, "conformity.csv")[1:] {
		t.Run(row[0], func(t *testing.T) {
			l := Limits{check.Number(t, row[3]), check.Number(t, row[4]), ""}
			d := Judge(check.Number(t, row[1]), check.Number(t, row[2]), l)
			want := check.Number(t, row[6])
			assert.InDelta(t, want, d.Probability, 1e-12)
			if want < 1e-3 {
				assert.InEpsilon(t, want, d.Probability, 1e-9)
			}
			assert.Equal(t, words[row[8]], d.Verdict)
			assert.Equal(t, row[7] == "accept", l.Contains(check.Number(t, row[1])))
		})
	}
}

func TestDecidedOnDecimals(t *testing.T) {
	l := Limits{0.15, 0.25, "mm"}
	u := 0.01
	assert.False(t, l.Upper-1.65*u >= 0.2335, "plain float64 gets this boundary wrong")
	assert.Equal(t, Inside, Judge(0.2335, u, l).Verdict)
	assert.Equal(t, TooClose, Judge(0.2336, u, l).Verdict)
	assert.Equal(t, TooClose, Judge(0.2665, u, l).Verdict)
	assert.Equal(t, Outside, Judge(0.2667, u, l).Verdict)
	assert.Equal(t, Inside, Judge(0.1665, u, l).Verdict)
	assert.Equal(t, TooClose, Judge(0.1335, u, l).Verdict)
	assert.Equal(t, Outside, Judge(0.1334, u, l).Verdict)
}

// Narrow windows need a wider guard band. Source: computed beside
// conformity.csv (the guard that gives 95 % at the edge of acceptance).
func TestNarrowWindows(t *testing.T) {
	for _, c := range []struct{ ratio, guard float64 }{
		{4, 1.796213}, {4.5, 1.667682}, {5, 1.65}, {8, 1.65}, {100, 1.65},
	} {
		d := Judge(0, 1, Limits{-c.ratio / 2, c.ratio / 2, ""})
		assert.InDelta(t, c.guard, guardBand(c.ratio, 1), 5e-7, "T/u %g", c.ratio)
		assert.Equal(t, Inside, d.Verdict)
	}
	d := Judge(0, 1, Limits{-3.91 / 2, 3.91 / 2, ""})
	assert.Equal(t, TooClose, d.Verdict, "the middle of a window that is too narrow")
	ratio, ok := Capability(Limits{0.15, 0.20, "mm"}, 0.0127)
	assert.True(t, ok, ratio)
	_, ok = Capability(Limits{0.15, 0.20, "mm"}, 0.0128)
	assert.False(t, ok, "0.15 to 0.20 needs u below 0.0128")
	ratio, ok = Capability(Limits{math.NaN(), 0.05, "mm"}, 1)
	assert.True(t, ok && math.IsInf(ratio, 1), "one end can always be met")
}

func TestNothingToJudge(t *testing.T) {
	l := Limits{0.15, 0.25, "mm"}
	for _, d := range []Decision{
		Judge(math.NaN(), 0.01, l), Judge(0.2, math.NaN(), l), Judge(0.2, -1, l), Judge(0.2, math.Inf(1), l), Judge(0.2, 0, l),
		Judge(0.2, 0.01, NoLimits("mm")),
	} {
		assert.Equal(t, NotDecided, d.Verdict)
		assert.True(t, math.IsNaN(d.Probability))
	}
	for _, u := range []float64{0, math.NaN(), -1, math.Inf(1)} {
		assert.Equal(t, UnknownInside, Judge(0.25, u, l).Reason, u)
		assert.Equal(t, UnknownOutside, Judge(0.2501, u, l).Reason, u)
	}
	assert.Empty(t, Judge(0.2, 0.001, l).Reason)
	assert.Equal(t, NoValue, Judge(math.NaN(), 0.01, l).Reason)
	assert.Equal(t, NoWindow, Judge(0.2, 0.01, NoLimits("mm")).Reason)
}

func TestLimits(t *testing.T) {
	nan := math.NaN()
	both, lower, upper := Limits{0.15, 0.25, "mm"}, Limits{0.15, nan, "mm"}, Limits{nan, 0.25, "mm"}
	assert.True(t, both.Any() && lower.Any() && upper.Any())
	assert.False(t, NoLimits("mm").Any())
	assert.Equal(t, "mm", NoLimits("mm").Unit)
	assert.InDelta(t, 0.1, both.Width(), 1e-15)
	assert.InDelta(t, 0.2, both.Middle(), 1e-15)
	for _, l := range []Limits{lower, upper, NoLimits("")} {
		assert.True(t, math.IsInf(l.Width(), 1))
		assert.True(t, math.IsNaN(l.Middle()))
	}
	for v, want := range map[float64][3]bool{0.1499: {false, false, true}, 0.15: {true, true, true}, 0.25: {true, true, true}, 0.2501: {false, true, false}} {
		assert.Equal(t, want, [3]bool{both.Contains(v), lower.Contains(v), upper.Contains(v)}, v)
	}
	assert.False(t, NoLimits("").Contains(nan))
	assert.Equal(t, Limits{0.3, 0.5, "mm"}, both.Times(2))
}

func TestConformanceProbabilityOfCertainValues(t *testing.T) {
	l := Limits{1, 2, ""}
	for v, want := range map[float64]float64{0.999: 0, 1.001: 1, 1.5: 1, 1.999: 1, 2.001: 0} {
		assert.InDelta(t, want, ConformanceProbability(v, 1e-6, l), 1e-12, v)
	}
	assert.InDelta(t, 0.5, ConformanceProbability(1, 1e-9, l), 1e-12)
	assert.InDelta(t, 0.341344746069, ConformanceProbability(1, 1, l), 1e-12, "Φ(1) - Φ(0)")
}

func TestCapability(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		l     Limits
		u     float64
		ratio float64
		ok    bool
	}{
		{Limits{1, 2, ""}, 0.25, 4, true},
		{Limits{1, 2, ""}, 0.5, 2, false},
		{Limits{1, 2, ""}, nan, nan, false},
		{Limits{1, 2, ""}, -1, -1, false},
		{Limits{1, 2, ""}, inf, 0, false},
		{Limits{1, 2, ""}, 0, inf, true},
		{Limits{2, 1, ""}, 0, -inf, false},
		{Limits{nan, 1, ""}, inf, nan, false},
		{Limits{nan, 1, ""}, 3, inf, true},
		{Limits{0, 2 * HalfWidthFactor, ""}, 1, 2 * HalfWidthFactor, true},
	} {
		ratio, ok := Capability(c.l, c.u)
		assert.Equal(t, c.ok, ok, "%+v", c)
		assert.True(t, ratio == c.ratio || math.IsNaN(ratio) && math.IsNaN(c.ratio), "%+v: %v", c, ratio)
	}
	assert.InDelta(t, 2*HalfWidthFactor, guardBand(2, 2), 1e-12, "too narrow: nothing is accepted")
	assert.InDelta(t, 3.3, guardBand(inf, 2), 1e-12)
	assert.InDelta(t, 2*1.796213, guardBand(8, 2), 1e-6, "in the unit of the value")
}

func TestBelow(t *testing.T) {
	assert.True(t, Below(1, 1+3e-12))
	assert.False(t, Below(1, 1+0.5e-12))
	assert.False(t, Below(1, 1))
	assert.False(t, Below(2, 1))
	assert.False(t, Below(math.NaN(), 1) || Below(1, math.NaN()))
	assert.True(t, Below(-1, -1+3e-12) && Below(0, 1e-300))
}

func TestVerdictProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		lower := rapid.Float64Range(-10, 10).Draw(t, "lower")
		width := rapid.Float64Range(0.01, 20).Draw(t, "width")
		u := rapid.Float64Range(0.001, 5).Draw(t, "u")
		v := rapid.Float64Range(-40, 40).Draw(t, "value")
		l := Limits{lower, lower + width, ""}
		d := Judge(v, u, l)
		assert.True(t, d.Probability >= 0 && d.Probability <= 1)
		switch d.Verdict {
		case Inside:
			assert.GreaterOrEqual(t, d.Probability, 0.95-1e-9)
			assert.Equal(t, Inside, Judge(v, u/2, l).Verdict, "less doubt keeps it inside")
		case Outside:
			assert.Less(t, d.Probability, 0.05)
			assert.False(t, l.Contains(v))
		}
		mirrored := Judge(-v, u, Limits{-l.Upper, -l.Lower, ""})
		assert.Equal(t, d.Verdict, mirrored.Verdict)
		assert.InDelta(t, d.Probability, mirrored.Probability, 1e-9)
	})
}

// Source: Φ(-9), tables of the normal distribution.
func TestSmallProbabilitiesKeepTheirDigits(t *testing.T) {
	assert.InEpsilon(t, 1.1285884059538e-19, ConformanceProbability(0, 1, Limits{9, math.NaN(), ""}), 1e-9)
	assert.InEpsilon(t, 1.1285884059538e-19, ConformanceProbability(0, 1, Limits{math.NaN(), -9, ""}), 1e-9)
}

func TestVerdictInWords(t *testing.T) {
	assert.Equal(t, "not decided", NotDecided.String())
	assert.Equal(t, "too close to call", TooClose.String())
}
