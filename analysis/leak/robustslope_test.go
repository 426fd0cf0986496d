package leak

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

func trace(every float64, x ...float64) (s []analysis.Sample) {
	for i, v := range x {
		s = append(s, analysis.Sample{T: 5 + every*float64(i), X: v})
	}
	return s
}

func TestSlopes(t *testing.T) {
	assert.InDelta(t, 1, medianSlope([]float64{1, 2, 4}, []float64{0, 1, 3}), 1e-12)
	assert.InDelta(t, 2, medianSlope([]float64{0, 1, 2, 3, 4}, []float64{0, 2, 4, 6, 99}), 1e-12, "six of ten pairs are right")
	assert.InDelta(t, -0.5, robustSlope(trace(2, 9, 8, 7, 6, 5, 4, 3, 2)), 1e-12)
	falling := make([]float64, 40)
	for i := range falling {
		falling[i] = -float64(i)
	}
	falling[7] = 700
	assert.InDelta(t, -0.5, robustSlope(trace(2, falling...)), 1e-12, "a wild reading is left out")
	assert.InDelta(t, 34.0/35, robustSlope(trace(1, 0, 0, 1, 3, 4, 4)), 1e-12, "too few to call one wild: least squares of all")
	// 1,000 readings go down to 250 means of four.
	var long []float64
	for i := range 1000 {
		long = append(long, 3*float64(i)+float64(i%2))
	}
	assert.InDelta(t, 3, robustSlope(trace(1, long...)), 1e-5)
	tt, x := blockMedians(trace(1, long...), leakPoints)
	assert.Len(t, tt, 250)
	assert.InDelta(t, 6.5, tt[0], 1e-12)
	assert.InDelta(t, 5, x[0], 1e-12)
	long[1] = 5000
	_, x = blockMedians(trace(1, long...), leakPoints)
	assert.InDelta(t, (0+6+10)/3.0, x[0], 1e-12, "without the wild one")
	tt, x = blockMedians(trace(1, 7, 8, 9), 3)
	assert.Equal(t, []float64{5, 6, 7}, tt)
	assert.Equal(t, []float64{7, 8, 9}, x)
}

func TestWild(t *testing.T) {
	assert.True(t, math.IsInf(wildLimit([]float64{1, 2, 3, 4, 5, 6, 700}), 1))
	assert.False(t, math.IsInf(wildLimit([]float64{1, 2, 3, 4, 5, 6, 7, 800}), 1), "eight tell")
	x := []float64{10, 11, 10, 11, 10, 11, 10, 11, 10, 90}
	assert.InDelta(t, 3*(0.8*1+0.2*1), wildLimit(x[:9]), 1e-12, "no flip of a digit is wild")
	assert.InDelta(t, 10.5-0.5+4.0/9, tamedMean(x, 5), 1e-12)
	assert.InDelta(t, 18.4, tamedMean(x, 100), 1e-12)
	assert.InDelta(t, 4*1.4826022185056018*2.5, wildLimit([]float64{0, 1, 2, 3, 4, 5, 6, 7, 8, 9}), 1e-9)
}

// Scatter of independent residuals; then of residuals that go together; then
// the display's step alone. Source: formula worked apart from the code.
func TestSlopeU(t *testing.T) {
	var at, alternate, waves, none []float64
	for i := range 20 {
		at = append(at, float64(i))
		alternate = append(alternate, 1-2*float64(i%2))
		waves = append(waves, []float64{1, 1, 1, 1, 1, -1, -1, -1, -1, -1}[i%10])
		none = append(none, 0)
	}
	stt := 665.0                                  // Σ(i-9.5)² for 0 to 19
	sd := 1.4826022185056018 * math.Sqrt(19.0/18) // the robust one is larger here
	few := 2.1009220402 / 2                       // t for 18 degrees of freedom
	assert.InDelta(t, few*sd/math.Sqrt(stt), slopeU(at, alternate, 0, false), 1e-9)
	run := (16.0 - 3) / 20
	run += (2 + 4*run) / 20 // Kendall
	assert.InDelta(t, 4.3026527/2*sd/math.Sqrt(stt)*math.Sqrt((1+run)/(1-run)), slopeU(at, waves, 0, false), 1e-6, "neighbours go together")
	assert.InDelta(t, 0.5/math.Sqrt(3)/19, slopeU(at, none, 0.5, false), 1e-12)
	assert.Zero(t, slopeU(at, none, 0.5, true))
	assert.InDelta(t, math.Hypot(few*sd/math.Sqrt(stt), 0.5/math.Sqrt(3)/19), slopeU(at, alternate, 0.5, false), 1e-9)
	wild := append([]float64(nil), alternate...)
	wild[10] = 1000
	assert.Less(t, slopeU(at, wild, 0, false), 2*slopeU(at, alternate, 0, false), "held within four deviations")
	// Seven are too few to hold a wild one back: their plain deviation counts.
	seven := []float64{0, 0, 0, 100, 0, 0, 0}
	assert.InDelta(t, 2.5705818/2*math.Sqrt(6e4/7/6)*math.Sqrt(6.0/5)/math.Sqrt(28), slopeU(at[:7], seven, 0, true), 1e-5)
	three := slopeU([]float64{0, 1, 2}, []float64{1, -2, 1}, 0, false)
	assert.InDelta(t, 12.7062047/2*math.Sqrt(3.0/2), three, 1e-6, "one degree of freedom")
}
