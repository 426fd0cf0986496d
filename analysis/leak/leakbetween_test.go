package leak

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

func TestLeakBetween(t *testing.T) {
	nan := math.NaN()
	r := Between(Sample{0, 690, nan}, Sample{600, 688, nan}, Options{Resolution: 1})
	assert.InDelta(t, 0.2, r.RatePerMin, 1e-12)
	// sqrt(2) · 1/sqrt(12) kPa over 10 min, and 2 °C that nobody saw: 790 kPa of 293 K.
	assert.InDelta(t, math.Hypot(0.040825, 791.325/293.15*2/math.Sqrt(3)/10), r.RateU, 1e-6)
	assert.False(t, r.Compensated)
	assert.Equal(t, analysis.NoTemperature, r.Notes[0].Code)

	// In half the time half of that, in less half a degree at least.
	for seconds, degrees := range map[float64]float64{300: 1, 60: 0.5, 1200: 2} {
		r := Between(Sample{0, 690, nan}, Sample{seconds, 688, nan}, Options{Resolution: 1e-6})
		assert.InDelta(t, 791.325/293.15*degrees/math.Sqrt(3), r.DropU, 1e-5, "%g s", seconds)
	}

	one := Between(Sample{0, 690, 20}, Sample{600, 688, nan}, Options{Resolution: 1})
	assert.False(t, one.Compensated, "one temperature tells nothing of a change")
}

// A line that cools from 20 °C to 10 °C without losing air: by the ideal gas
// law (690 + 101.325)·283.15/293.15 - 101.325 kPa.
func TestLeakBetweenTakesTheTemperatureOut(t *testing.T) {
	cold := (690+101.325)*283.15/293.15 - 101.325
	r := Between(Sample{0, 690, 20}, Sample{600, cold, 10}, Options{Resolution: 1, TempResolution: 1})
	assert.InDelta(t, 0, r.RatePerMin, 1e-9)
	assert.InDelta(t, (690-cold)/10, r.RawPerMin, 1e-9)
	// Two pressures and, at the end's pressure and temperature, two temperatures.
	u := math.Sqrt2 / math.Sqrt(12) * math.Hypot(1, (cold+101.325)/283.15)
	assert.InDelta(t, u/10, r.RateU, 1e-9)
	assert.InDelta(t, u, r.DropU, 1e-9)
}

func TestLeakBetweenRefuses(t *testing.T) {
	nan := math.NaN()
	assert.True(t, Between(Sample{0, 690, nan}, Sample{0, 688, nan}, Options{}).Refused)
	assert.True(t, Between(Sample{0, 0, nan}, Sample{600, 0, nan}, Options{}).Refused)
	assert.True(t, Between(Sample{0, nan, nan}, Sample{600, 0, nan}, Options{}).Refused)
}

func TestLeakBetweenNotes(t *testing.T) {
	nan := math.NaN()
	few := Between(Sample{0, 690, nan}, Sample{600, 689.5, nan}, Options{Resolution: 1})
	assert.Contains(t, few.Notes, analysis.LastDigit.Of(0.5))
	assert.Len(t, Between(Sample{0, 690, nan}, Sample{600, 689, nan}, Options{Resolution: 1}).Notes, 1, "1 kPa is more")
	assert.Len(t, Between(Sample{0, 690, nan}, Sample{600, 690, nan}, Options{}).Notes, 1, "nothing is known of the gauge")
	r := Between(Sample{30, 500, nan}, Sample{90, 490, nan}, Options{Resolution: 1})
	assert.Equal(t, 1.0, r.Minutes)
	assert.Equal(t, 500.0, r.Start)
	perDegree := (688 + 90.0) / (20 + 273.15)
	warm := Between(Sample{0, 690, 20}, Sample{600, 688, 20}, Options{Resolution: 1, TempResolution: 0.5, AmbientKPa: 90})
	assert.InDelta(t, math.Hypot(math.Sqrt2/math.Sqrt(12), perDegree*math.Sqrt2*0.5/math.Sqrt(12)), warm.DropU, 1e-12)
	assert.True(t, Between(Sample{0, 690, nan}, Sample{600, nan, nan}, Options{}).Refused)
}
