package leak

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/internal/check"
)

// gasConstant is the molar gas constant R, J/(mol·K). Source: SI 2019, exact.
const gasConstant = 8.31446261815324

// leakThroughput returns the leak of a volume in Pa·m³/s at the first
// temperature, from two absolute pressures in Pa and temperatures in K dt
// seconds apart:
//
//	Q = V · (p1 - p2·T1/T2) / dt
//
// Positive means losing. It returns NaN for a dt or temperature not above 0.
// Source: ideal gas law.
func leakThroughput(volume, p1, t1, p2, t2, dt float64) float64 {
	if !(dt > 0) || !(t1 > 0) || !(t2 > 0) {
		return math.NaN()
	}
	return volume * (p1 - p2*t1/t2) / dt
}

// leakMoles returns the gas gained by a volume in mol/s, with the gas constant
// r (gasConstant, unless a rule prescribes an older one):
//
//	n = V/R · (p2/T2 - p1/T1) / dt
//
// Source: 40 CFR 1065.644.
func leakMoles(volume, p1, t1, p2, t2, dt, r float64) float64 {
	if !(dt > 0) || !(t1 > 0) || !(t2 > 0) || !(r > 0) {
		return math.NaN()
	}
	return volume / r * (p2/t2 - p1/t1) / dt
}

// Sources: 40 CFR 1065.644 (inputs confirmed, answer recomputed) and the ideal
// gas law (computed).
func TestLeakTable(t *testing.T) {
	for _, row := range check.Rows(t, "leak.csv")[1:] {
		var v [7]float64
		for i := range v {
			v[i] = check.Number(t, row[1+i])
		}
		raw := leakThroughput(v[0], v[1], v[2], v[3], v[2], v[5])
		q := leakThroughput(v[0], v[1], v[2], v[3], v[4], v[5])
		lost := -leakMoles(v[0], v[1], v[2], v[3], v[4], v[5], v[6])
		assert.InDelta(t, check.Number(t, row[8]), raw, 1e-11, row[0])
		assert.InDelta(t, check.Number(t, row[9]), q, 1e-11, row[0])
		assert.InDelta(t, check.Number(t, row[10]), lost, 1e-14, row[0])
	}
	assert.InDelta(t, 6.783353e-4, leakThroughput(0.003, 121325, 295.15, 121175, 294.95, 300), 5e-11)
	assert.InDelta(t, 2.965705e-4, leakMoles(0.002, 25300, 293.15, 50600, 293.15, 70, 8.314472), 5e-11)
	assert.True(t, math.IsNaN(leakThroughput(1, 1, 1, 1, 1, 0)))
	assert.True(t, math.IsNaN(leakMoles(1, 1, 0, 1, 1, 1, gasConstant)))
	// The same through the trace: the compensated fall over 3 L and 300 s.
	var s []Sample
	for i := range 301 {
		share := float64(i) / 300
		s = append(s, Sample{float64(i), 20 - 0.15*share, 22 - 0.2*share})
	}
	r := Measure(s, Options{})
	assert.InEpsilon(t, 6.783353e-4, 0.003*1000*r.RatePerMin/60, 0.02, r.Notes)
	assert.InEpsilon(t, 1.5e-3, 0.003*1000*r.RawPerMin/60, 1e-6)
}
