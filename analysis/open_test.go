package analysis

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
)

// Twelve months as places of a run-out, 30° apart: °F of nottem, means by month.
// Source: R 4.2.2, data set nottem, qr.solve of 1, cos, sin, cos 2, sin 2; the
// second without March, April and October.
func TestMonthsAsPlaces(t *testing.T) {
	month := []float64{39.695, 39.19, 42.195, 46.29, 52.56, 58.04, 61.9, 60.52, 56.48, 49.495, 42.58, 39.53}
	var angle []float64
	for i := range month {
		angle = append(angle, 30*float64(i))
	}
	check := func(angle, value []float64, a1, p1, a2, p2 float64) {
		f, err := FitHarmonics(angle, value, 1, 2)
		require.NoError(t, err)
		assert.InDelta(t, a1, f.Harmonics[0].Amplitude, 1e-6)
		assert.InDelta(t, p1, f.Harmonics[0].PhaseDeg, 1e-6)
		assert.InDelta(t, a2, f.Harmonics[1].Amplitude, 1e-6)
		assert.InDelta(t, p2, f.Harmonics[1].PhaseDeg, 1e-6)
	}
	check(angle, month, 11.55728323, 186.9104091, 1.500402955, 16.54413592)
	for _, i := range []int{9, 3, 2} {
		angle, month = slices.Delete(angle, i, i+1), slices.Delete(month, i, i+1)
	}
	check(angle, month, 11.5442393869, 186.380882745, 1.56170839435, 15.8397529572)
}

// Ten sleepers before and after as positions of two stages, the readings all but
// exact: what is left is the paired t interval.
// Source: R 4.2.2, data set sleep, t.test(paired = TRUE): 1.58, 0.7001142367 to
// 2.4598857633.
func TestSleepersAsStages(t *testing.T) {
	round := func(v ...float64) (p []RoundPoint) {
		for i, x := range v {
			p = append(p, RoundPoint{Position: i + 1, AngleDeg: 36 * float64(i), Value: x, U: 1e-9})
		}
		return p
	}
	c := CompareStages(round(0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0, 2), round(1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4), Same{})
	assert.InDelta(t, 1.58, c.Mean, 1e-12)
	assert.InDelta(t, 0.7001142367, c.Mean-c.K*c.U, 1e-9)
	assert.InDelta(t, 2.4598857633, c.Mean+c.K*c.U, 1e-9)
	assert.True(t, c.Significant)
}

// Source: R 4.2.2, qtukey(0.95, n, Inf).
func TestSpreadFactorsOfTukey(t *testing.T) {
	for i, want := range []float64{2.771807649, 3.314493158, 3.633159582, 3.857655527, 4.030092087, 4.169554216,
		4.286309513, 4.38650928, 4.474124471, 4.551863584, 4.621655472} {
		assert.InDelta(t, want, SpreadFactor(i+2), 1e-6, "n = %d", i+2)
	}
}

// Source: NIST/SEMATECH e-Handbook, 1.3.5.2, confidence limits for the mean of
// ZARR13.DAT: 195 values of mean 9.26146 and standard deviation 0.0227888 (from
// memory) lie within 9.258242 and 9.264679.
func TestMeanOfZarr(t *testing.T) {
	half := gum.CoverageFactor(0.95, 194) * 0.0227888 / math.Sqrt(195)
	assert.InDelta(t, 9.258242, 9.26146-half, 2e-6)
	assert.InDelta(t, 9.264679, 9.26146+half, 2e-6)
}
