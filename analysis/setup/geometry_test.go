package setup

import (
	"math"
	"math/cmplx"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// Source: own derivation, confirmed by an independent numeric model; no printed
// form was found.
func TestGeometricGain(t *testing.T) {
	g, err := GeometricGain(11, 41, 20, 35, false)
	require.NoError(t, err)
	assert.InDelta(t, 0.8582974, g, 5e-8)
	straight, err := GeometricGain(20, 40, 20, 0, false)
	require.NoError(t, err)
	assert.InDelta(t, 0.6510897, straight, 5e-8)
	normal, err := GeometricGain(11, 41, 20, 35, true)
	require.NoError(t, err)
	n, err := NormalFactor(20, 35)
	require.NoError(t, err)
	assert.InDelta(t, normal, g*n, 1e-12, "normal is transverse times cos·cos")
	// Handbooks give 0.6 to 0.7 (common practice), both of the normal reading.
	assert.True(t, normal > 0.6 && normal < 0.75, normal)
	for _, bad := range [][2]float64{{0, 35}, {50, 35}, {20, 70}, {math.NaN(), 1}} {
		_, err := GeometricGain(11, 41, bad[0], bad[1], true)
		assert.Error(t, err)
	}
	_, err = GeometricGain(0, 41, 20, 35, true)
	assert.EqualError(t, err, "teeth 0/41 are not both above 0")
	size, sd, err := GainFromGeometry(1.5, 14, normal)
	require.NoError(t, err)
	assert.InDelta(t, 0.08, size, 0.012, "about 0.08 mm a notch (handbooks, common practice)")
	assert.InDelta(t, size/4, sd, 1e-12)
	_, _, err = GainFromGeometry(0, 14, normal)
	assert.Error(t, err)
}

// Source: relations between backlashes as printed in general gear references
// (confirmed); the example is computed: 0.200 mm transverse, 20° and 35°.
func TestConventions(t *testing.T) {
	n, err := NormalFactor(20, 35)
	require.NoError(t, err)
	assert.InDelta(t, 0.769751, n, 5e-7)
	assert.InDelta(t, 0.153950, 0.200*n, 5e-7)
}

func TestConventionFactors(t *testing.T) {
	n := 0.769751
	for _, c := range []struct {
		spec, measured string
		want           []float64
	}{
		{Normal, Normal, []float64{1}},
		{"unknown", "", []float64{1}},
		{Transverse, Normal, []float64{n}},
		{Normal, Transverse, []float64{1 / n}},
		{"unknown", Normal, []float64{1, n}},
		{"", Transverse, []float64{1, 1 / n}},
		{Normal, "", []float64{1, 1 / n}},
		{Transverse, "unknown", []float64{1, n}},
	} {
		assert.InDeltaSlice(t, c.want, ConventionFactors(c.spec, c.measured, 20, 35), 1e-6, "%s, %s", c.spec, c.measured)
	}
	usual := ConventionFactors(Transverse, Normal, 0, 0)
	assert.InDelta(t, 1/1.17, usual[0], 1e-12)
	assert.InDelta(t, 1/1.32, usual[len(usual)-1], 1e-12)
	for i := range usual[1:] {
		assert.Less(t, usual[i]/usual[i+1], 1.03, "no window is narrow enough to lie between two")
	}
	assert.Len(t, ConventionFactors("", Normal, 0, 0), len(usual)+1)
}

// Read normal, 0.165 mm is 0.214 mm transverse: inside a normal window of 0.10
// to 0.20 and, as the window is 0.077 to 0.154 in normal terms where the manual
// means transverse, outside that.
func TestVerdictByBothConventions(t *testing.T) {
	window := gum.Limits{Lower: 0.10, Upper: 0.20, Unit: "mm"}
	either := ConventionFactors("", Normal, 20, 35)
	d := JudgeConventions(0.165, 0.002, window, either)
	assert.Equal(t, gum.TooClose, d.Verdict)
	assert.Equal(t, gum.OneConventionOnly, d.Reason)
	assert.Less(t, d.Probability, 1e-6)
	assert.Equal(t, gum.Inside, JudgeConventions(0.13, 0.002, window, either).Verdict)
	assert.Equal(t, gum.Outside, JudgeConventions(0.25, 0.002, window, either).Verdict)
	assert.Equal(t, gum.NotDecided, JudgeConventions(0.165, math.NaN(), window, either).Verdict)

	spec := analysis.RoundSpec{Limits: window, MaxSpread: 0.05, Floor: math.NaN(), Rule: ""}
	r := AnalyseConventions(positions(0.002, 0.165, 0.16, 0.15), 3, spec, either)
	assert.Equal(t, gum.TooClose, r.Verdict)
	assert.Equal(t, gum.OneConventionOnly, r.Why.Reason)
	assert.Equal(t, 3, r.N)
	assert.Equal(t, gum.Inside, AnalyseConventions(positions(0.002, 0.125, 0.13, 0.135), 3, spec, either).Verdict)
	assert.Equal(t, gum.Outside, AnalyseConventions(positions(0.002, 0.3, 0.13, 0.135), 3, spec, either).Verdict)
	assert.Equal(t, gum.NotDecided, AnalyseConventions(positions(0.002, 0.125), 3, spec, either).Verdict)
}

// Source: vector addition; the cancelling shares 39, 31 and 26 % for 8, 10 and
// 12 holes are own arithmetic: at worst half a hole off, 2·sin(180°/2n).
func TestReclock(t *testing.T) {
	for holes, share := range map[int]float64{8: 0.39, 10: 0.31, 12: 0.26} {
		worst := 0.0
		for p := 0.0; p < 360; p += 0.5 {
			flange := analysis.Harmonic{Amplitude: 0.02, PhaseDeg: 0}
			total := complex(0.02, 0) + cmplx.Rect(0.02, p*math.Pi/180)
			r, err := Reclock([]analysis.Harmonic{flange}, []analysis.Harmonic{{Amplitude: math.Hypot(real(total), imag(total)), PhaseDeg: math.Atan2(imag(total), real(total)) * 180 / math.Pi}}, holes)
			require.NoError(t, err)
			worst = math.Max(worst, r.After/2/0.02)
			assert.LessOrEqual(t, r.After, r.Before+1e-15)
			assert.InDelta(t, r.Before, r.PerPosition[0], 1e-12)
		}
		assert.InDelta(t, share, worst, 0.006, "%d holes", holes)
	}
	r, err := Reclock([]analysis.Harmonic{{Amplitude: 0.03}}, []analysis.Harmonic{{Amplitude: 0.05}}, 10)
	require.NoError(t, err)
	assert.Equal(t, 5, r.Holes)
	assert.Equal(t, 180.0, r.AngleDeg)
	assert.InDelta(t, 0.10, r.Before, 1e-12)
	assert.InDelta(t, 0.02, r.After, 1e-12)
	_, err = Reclock(nil, []analysis.Harmonic{{}}, 1)
	assert.Error(t, err)
	_, err = Reclock([]analysis.Harmonic{{Amplitude: math.NaN()}}, []analysis.Harmonic{{}}, 10)
	assert.ErrorIs(t, err, stat.ErrNotFinite)
}

// The face itself, wheel and flange apart, turned and added up point by point: what
// is predicted is what is then there, and never worse than before.
func TestReclockCountsTheWarp(t *testing.T) {
	rnd := rand.New(rand.NewSource(8))
	any := func(size float64) (h []analysis.Harmonic, at func(deg float64) float64) {
		h = []analysis.Harmonic{{Amplitude: size * rnd.Float64(), PhaseDeg: 360 * rnd.Float64()}, {Amplitude: size / 2 * rnd.Float64(), PhaseDeg: 180 * rnd.Float64()}}
		return h, func(deg float64) float64 {
			return h[0].Amplitude*math.Cos((deg-h[0].PhaseDeg)*math.Pi/180) + h[1].Amplitude*math.Cos(2*(deg-h[1].PhaseDeg)*math.Pi/180)
		}
	}
	for range 100 {
		flange, flangeAt := any(0.02)
		_, wheelAt := any(0.03)
		var angle, bolted []float64
		for deg := 0.0; deg < 360; deg += 15 {
			angle, bolted = append(angle, deg), append(bolted, flangeAt(deg)+wheelAt(deg))
		}
		fit, err := analysis.FitHarmonics(angle, bolted, 1, 2)
		require.NoError(t, err)
		r, err := Reclock(flange, fit.Harmonics, 10)
		require.NoError(t, err)
		low, high := math.Inf(1), math.Inf(-1)
		for deg := 0.0; deg < 360; deg += 0.1 {
			v := flangeAt(deg) + wheelAt(deg-r.AngleDeg)
			low, high = math.Min(low, v), math.Max(high, v)
		}
		assert.InDelta(t, high-low, r.After, 1e-5)
		assert.LessOrEqual(t, r.After, r.Before)
	}
}

func TestFollowsRunout(t *testing.T) {
	face := analysis.Harmonic{Amplitude: 0.03, PhaseDeg: 70}
	points := func(phase float64) []analysis.RoundPoint {
		var p []analysis.RoundPoint
		for i := range 8 {
			a := 45 * float64(i)
			p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: a, Value: 0.17 + 0.7*0.03*math.Cos((a-phase)*math.Pi/180) + 0.001*float64(i%2), U: 0.002})
		}
		return p
	}
	f, err := FollowsRunout(points(100), face, 0.7, 30)
	require.NoError(t, err)
	assert.True(t, f.Follows && !f.Against)
	assert.Greater(t, f.Explained, 0.98)
	assert.InDelta(t, f.Expected, f.Swing, 0.002)
	f, err = FollowsRunout(points(190), face, 0.7, 30)
	require.NoError(t, err)
	assert.False(t, f.Follows)
	f, err = FollowsRunout(points(280), face, 0.7, 30)
	require.NoError(t, err)
	assert.True(t, f.Follows && f.Against, "the other way round, as an indicator has it that counts down")
	_, err = FollowsRunout(points(0)[:4], face, 0.7, 0)
	assert.ErrorIs(t, err, stat.ErrTooFew)
}

func TestConventionFactor(t *testing.T) {
	n := 0.769751
	for _, c := range []struct {
		from, to string
		want     float64
	}{{Normal, Normal, 1}, {Transverse, Transverse, 1}, {Transverse, Normal, n}, {Normal, Transverse, 1 / n}} {
		k, err := ConventionFactor(c.from, c.to, 20, 35)
		require.NoError(t, err)
		assert.InDelta(t, c.want, k, 1e-6)
	}
	for _, bad := range [][2]string{{"", Normal}, {Normal, "x"}} {
		_, err := ConventionFactor(bad[0], bad[1], 20, 35)
		assert.ErrorContains(t, err, "want normal or transverse")
	}
	_, err := ConventionFactor(Normal, Transverse, 0, 35)
	assert.Error(t, err)
	same, err := ConventionFactor(Normal, Normal, 0, 0)
	require.NoError(t, err, "angles are not asked for")
	assert.Equal(t, 1.0, same)
	for _, bad := range [][2]float64{{0, 0}, {45, 0}, {20, -1}, {20, 60}} {
		_, err := NormalFactor(bad[0], bad[1])
		assert.Error(t, err, "%v", bad)
	}
	assert.Len(t, ConventionFactors(Normal, Transverse, 20, 0), 8, "no spiral angle known")
}

// What the rule allows goes with the limits from one convention to the other.
func TestAllOfASpecIsConverted(t *testing.T) {
	window := gum.Limits{Lower: 0.10, Upper: 0.20, Unit: "mm"}
	two := positions(0.001, 0.20, 0.30)
	spec := analysis.RoundSpec{Limits: window, MaxSpread: 0.06, Floor: math.NaN(), Rule: analysis.RuleTightestInside}
	assert.Equal(t, gum.Outside, AnalyseConventions(two, 2, spec, []float64{1.5}).Verdict, "0.10 against 0.09")
	spec.MaxSpread = 0.08
	assert.Equal(t, gum.Inside, AnalyseConventions(two, 2, spec, []float64{1.5}).Verdict, "against 0.12")
	low := positions(0.001, 0.14, 0.20)
	spec = analysis.RoundSpec{Limits: window, MaxSpread: math.NaN(), Floor: 0.1, Rule: analysis.RuleAnyInside}
	assert.Equal(t, gum.Outside, AnalyseConventions(low, 2, spec, []float64{1.5}).Verdict, "0.14 against a floor of 0.15")
	spec.Floor = 0.09
	assert.Equal(t, gum.Inside, AnalyseConventions(low, 2, spec, []float64{1.5}).Verdict)
}

func TestFollowsRunoutByHand(t *testing.T) {
	points := func(phase float64, noise float64) (p []analysis.RoundPoint) {
		for i := range 8 {
			a := 45 * float64(i)
			p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: a, Value: 0.17 + 0.02*math.Cos((a-phase)*math.Pi/180) + noise*float64(1-2*(i%2)), U: 0.002})
		}
		return p
	}
	face := analysis.Harmonic{Amplitude: 0.03, PhaseDeg: 10}
	f, err := FollowsRunout(points(10, 0), face, -0.5, 0)
	require.NoError(t, err)
	assert.InDelta(t, 1, f.Explained, 1e-9)
	assert.InDelta(t, 0.04, f.Swing, 1e-9)
	assert.InDelta(t, 0.03, f.Expected, 1e-9)
	assert.True(t, f.Follows)
	f, err = FollowsRunout(points(10, 0.03), face, 0.5, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.0002/(0.0002+0.0009), f.Explained, 1e-9, "squares of the sine's part over all")
	assert.False(t, f.Follows)
	_, err = FollowsRunout(points(10, 0)[:5], face, 0.5, 0)
	assert.NoError(t, err)
}
