package gum

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"crownlog/analysis/internal/check"
)

// endGauge is the budget of JCGM 100:2008, H.1: a 50 mm end gauge, nm and °C.
func endGauge() []Component {
	inf := math.Inf(1)
	return []Component{
		{"standard", 25, 1, 18, false},
		{"difference, random", 5.8, 1, 24, false},
		{"comparator, random", 3.9, 1, 5, false},
		{"comparator, systematic", 6.7, 1, 8, false},
		{"expansion of the standard", Rectangular(2e-6), 0, inf, false},
		{"mean temperature", 0.2, 0, inf, false},
		{"cyclic temperature", arcsine(0.5), 0, inf, false},
		{"difference of expansion", Rectangular(1e-6), 5e7 * 0.1, 50, false},
		{"difference of temperature", Rectangular(0.05), -5e7 * 11.5e-6, 2, false},
	}
}

// Source: JCGM 100:2008, H.1 and NIST TN 1297 D.2 (confirmed). U99 is printed
// as 93 nm from u rounded to 32 nm; unrounded it is 92.48 nm.
func TestGUMEndGauge(t *testing.T) {
	b, err := Combine(endGauge())
	require.NoError(t, err)
	assert.InDelta(t, 31.6637674111, b.Combined, 1e-9)
	assert.InDelta(t, 16.7521475092, b.EffectiveDoF, 1e-8)
	k := CoverageFactor(0.99, b.EffectiveDoF)
	assert.InDelta(t, 2.92078162235, k, 1e-8)
	assert.InDelta(t, 92.4829499488, k*b.Combined, 1e-6)
	// Rounding u to 32 nm before Welch-Satterthwaite would give 17.47.
	early := b.EffectiveDoF * math.Pow(32/b.Combined, 4)
	assert.InDelta(t, 17.47, early, 0.01)
	assert.Greater(t, early-b.EffectiveDoF, 0.7)
}

// Source: JCGM 100:2008, G.4.1 (recomputed; published figures from memory).
func TestGUMRelative(t *testing.T) {
	b, err := Combine([]Component{{"a", 0.25, 1, 9, false}, {"b", 0.57, 1, 4, false}, {"c", 0.82, 1, 14, false}})
	require.NoError(t, err)
	assert.InDelta(t, 1.02946588093, b.Combined, 1e-10)
	assert.InDelta(t, 18.9987423143, b.EffectiveDoF, 1e-8)
	// Truncation gives 18 and 2.10 where the text rounds to 19 and 2.09.
	assert.InDelta(t, 2.100922, CoverageFactor(0.95, b.EffectiveDoF), 1e-6)
}

// Source: NIST/SEMATECH e-Handbook 2.6.3, probe 2362: inputs confirmed,
// published result from memory; it rounds 41.97 degrees of freedom to 42 where
// this program truncates to 41.
func TestHandbookProbe(t *testing.T) {
	b, err := Combine([]Component{{"short term", 0.0362, math.Sqrt(5.0 / 6), 50, false}, {"stability", 0.0197, 1, 5, false}, {"bias", 0.0161, math.Sqrt(1.0 / 10), 9, false}})
	require.NoError(t, err)
	assert.InDelta(t, 0.0388077870193, b.Combined, 1e-9)
	assert.InDelta(t, 41.9657115414, b.EffectiveDoF, 1e-6)
	assert.InDelta(t, 2.0180816971, CoverageFactor(0.95, 42), 1e-8)
}

// Source: Student t in the layout of JCGM 100:2008 table G.2 (computed; ten
// printed entries confirmed).
func TestStudentTable(t *testing.T) {
	rows := check.Rows(t, "gum_t_table.csv")
	for _, row := range rows[1:] {
		dof := math.Inf(1)
		if row[0] != "inf" {
			dof = check.Number(t, row[0])
		}
		for j, head := range rows[0][1:] {
			p := check.Number(t, strings.TrimPrefix(head, "p"))
			want := check.Number(t, row[1+j])
			assert.InDelta(t, want, CoverageFactor(p, dof), 1e-6*want, "t(%s, %g)", row[0], p)
			assert.Equal(t, CoverageFactor(p, dof), CoverageFactor(p, dof+0.99), "truncated, not rounded")
		}
	}
}

// Source: JCGM 100:2008, 4.3.7, 4.4.5, 4.4.6, F.2.2.1, H.1.3.4 (recomputed).
func TestHalfWidths(t *testing.T) {
	assert.InDelta(t, 2.30940107676, Rectangular(4), 1e-10)
	assert.InDelta(t, 1.63299316186, triangular(4), 1e-10)
	assert.InDelta(t, 0.288675134595, Resolution(1), 1e-12)
	assert.InDelta(t, 0.353553390593, arcsine(0.5), 1e-12)
}

// Source: JCGM 100:2008, table G.2 for the two-sided factors; the one-sided ones
// are the same distribution.
func TestStated(t *testing.T) {
	for dof, want := range map[float64]float64{1: 12.7062 / 2, 2: 4.3027 / 2, 5: 2.5706 / 2, 20: 2.086 / 2, 100: 1, math.Inf(1): 1} {
		b, err := Combine([]Component{{"x", 1, 1, dof, false}})
		require.NoError(t, err)
		assert.InDelta(t, want, b.Stated(), 1e-4, dof)
		oneSided := 1.65
		if !math.IsInf(dof, 1) {
			oneSided = distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile(0.95)
		}
		assert.GreaterOrEqual(t, guardFactor*b.Stated(), oneSided-0.011, dof)
	}
}

// Source: JCGM 100:2008, 7.2.6 for the first two.
func TestRoundU(t *testing.T) {
	for _, c := range []struct {
		u, want  float64
		decimals int
	}{
		{10.47, 11, 0}, {28.05, 28, 0}, {0.01047, 0.011, 3}, {0.00148, 0.0015, 4}, {0.0034, 0.0034, 4},
		{0.00342, 0.0034, 4}, {0.00344, 0.0035, 4}, {0.3, 0.30, 2}, {0.0996, 0.10, 2}, {9.96, 10, 0}, {1, 1.0, 1}, {123.4, 123, 0}, {0, 0, 0},
	} {
		got, decimals := RoundU(c.u)
		assert.InDelta(t, c.want, got, 1e-12, c.u)
		assert.Equal(t, c.decimals, decimals, c.u)
	}
	for _, none := range []float64{math.NaN(), math.Inf(1), -1} {
		got, decimals := RoundU(none)
		assert.True(t, got == none || math.IsNaN(got) && math.IsNaN(none), none)
		assert.Zero(t, decimals, none)
	}
}

func TestRoundUProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := math.Pow(10, rapid.Float64Range(-6, 3).Draw(t, "log10"))
		r, decimals := RoundU(u)
		assert.GreaterOrEqual(t, r, 0.99*u)
		assert.LessOrEqual(t, r, 1.1*u)
		_, fraction, _ := strings.Cut(strconv.FormatFloat(r, 'f', -1, 64), ".")
		assert.LessOrEqual(t, len(fraction), decimals)
	})
}

func TestBadComponents(t *testing.T) {
	for name, c := range map[string]Component{
		"negative":     {"x", -1, 1, 5, false},
		"not a number": {"x", math.NaN(), 1, 5, false},
		"infinite":     {"x", math.Inf(1), 1, 5, false},
		"no freedom":   {"x", 1, 1, 0, false},
		"sensitivity":  {"x", 1, math.NaN(), 5, false},
	} {
		_, err := Combine([]Component{c})
		assert.ErrorIs(t, err, ErrBadComponent, name)
	}
	b, err := Combine(nil)
	require.NoError(t, err)
	assert.Equal(t, Budget{0, math.Inf(1), 0}, b)
}

func TestBudgetProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "n")
		cs := make([]Component, n)
		for i := range cs {
			cs[i] = Component{"c", rapid.Float64Range(0.001, 10).Draw(t, "u"), rapid.Float64Range(0.01, 5).Draw(t, "c") * float64(1-2*rapid.IntRange(0, 1).Draw(t, "sign")), float64(rapid.IntRange(1, 60).Draw(t, "dof")), false}
		}
		b, err := Combine(cs)
		require.NoError(t, err)
		least, total := math.Inf(1), 0.0
		largest := 0.0
		for _, c := range cs {
			least, total, largest = math.Min(least, c.DoF), total+c.DoF, math.Max(largest, c.Contribution())
		}
		assert.GreaterOrEqual(t, b.Combined, largest*(1-1e-12))
		if b.Combined > 1e-6 {
			// JCGM 100:2008, G.4.1: between the least and the sum.
			assert.GreaterOrEqual(t, b.EffectiveDoF, least*(1-1e-9))
			assert.LessOrEqual(t, b.EffectiveDoF, total*(1+1e-9))
		}
	})
}

// triangular returns the standard uncertainty a/√6 of a quantity within ±a and
// likeliest in the middle. Source: JCGM 100:2008, 4.3.9.
func triangular(a float64) float64 { return a / math.Sqrt(6) }

// arcsine returns the standard uncertainty a/√2 of a quantity that swings like
// a sine between -a and +a. Source: JCGM 100:2008, H.1.3.4.
func arcsine(a float64) float64 { return a / math.Sqrt2 }

func TestCoverageFactorAtTheEnds(t *testing.T) {
	assert.InDelta(t, HalfWidthFactor, CoverageFactor(0.95, math.Inf(1)), 1e-14)
	assert.InDelta(t, HalfWidthFactor, CoverageFactor(0.95, 1e7), 1e-6)
	assert.InDelta(t, 12.7062, CoverageFactor(0.95, 0.3), 1e-4, "no fewer than one")
	assert.InDelta(t, 4.302653, CoverageFactor(0.95, 2-1e-10), 1e-6, "2 but for rounding")
	assert.True(t, math.IsNaN(CoverageFactor(0.95, math.NaN())))
}

// What has no uncertainty needs no degrees of freedom.
func TestCertainComponents(t *testing.T) {
	b, err := Combine([]Component{{"read", 0.3, 2, 5, false}, {"exact", 0, 1, 0, false}, {"of no effect", 1, 0, 0, false}})
	require.NoError(t, err)
	assert.InDelta(t, 0.6, b.Combined, 1e-15)
	assert.InDelta(t, 5, b.EffectiveDoF, 1e-9)
	assert.Zero(t, Component{"", 0, 3, 1, false}.Contribution())
	assert.InDelta(t, 6, Component{"", 2, -3, 1, false}.Contribution(), 1e-15)
}

// Source: JCGM 100:2008, 7.2.6 and 7.2.2 (100,021 47 g with U 0,000 79 g).
func TestRoundedToWhatTheUncertaintyCarries(t *testing.T) {
	for _, c := range []struct{ v, u, want float64 }{
		{100.02147, 0.00079, 100.02147}, {3.2111420187793502, 0.0047, 3.2111}, {3.2111420187793502, 0.0996, 3.21},
		{97.849, 4.1, 97.8}, {97.849, 41, 98}, {-0.00004, 0.01, 0}, {0.15, 0, 0.15},
	} {
		assert.Equal(t, c.want, Rounded(c.v, c.u))
	}
	assert.False(t, math.Signbit(Rounded(-0.00004, 0.01)))
	assert.Equal(t, 0.123456, Rounded(0.123456, math.NaN()))
	assert.Equal(t, 0.123456, Rounded(0.123456, math.Inf(1)))
	assert.True(t, math.IsNaN(Rounded(math.NaN(), 0.1)))
}

// Printed as it is carried; where that is not known, to so many decimals.
func TestCarried(t *testing.T) {
	assert.Equal(t, 3.2111, Carried(3.2111420187793502, 0.0047, 2))
	for _, unknown := range []float64{0, math.NaN()} {
		assert.Equal(t, 3.211, Carried(3.2111420187793502, unknown, 3))
		assert.Equal(t, 0.0, Carried(0.0004, unknown, 3))
	}
	assert.Equal(t, 0.0047, RoundedU(0.00472))
	assert.Equal(t, 0.10, RoundedU(0.0996))
}

func TestRoundUOfNothing(t *testing.T) {
	for _, u := range []float64{0, -1, math.Inf(1)} {
		rounded, decimals := RoundU(u)
		assert.Equal(t, u, rounded)
		assert.Zero(t, decimals)
	}
	rounded, _ := RoundU(math.NaN())
	assert.True(t, math.IsNaN(rounded))
}
