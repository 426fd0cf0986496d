package leak

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLeakBetween(t *testing.T) {
	nan := math.NaN()
	r := Between(Sample{0, 690, nan}, Sample{600, 688, nan}, Options{Resolution: 1})
	assert.InDelta(t, 0.2, r.RatePerMin, 1e-12)
	// u = sqrt(2) · 1/sqrt(12) kPa over 10 min.
	assert.InDelta(t, 0.040825, r.RateU, 1e-6)
	assert.False(t, r.Compensated)
	assert.Contains(t, r.Notes[0], "no temperature")

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
	assert.Greater(t, r.RateU, 0.11, "a degree is 2.7 kPa")
}

func TestLeakBetweenRefuses(t *testing.T) {
	nan := math.NaN()
	assert.True(t, Between(Sample{0, 690, nan}, Sample{0, 688, nan}, Options{}).Refused)
	assert.True(t, Between(Sample{0, 0, nan}, Sample{600, 0, nan}, Options{}).Refused)
	assert.True(t, Between(Sample{0, nan, nan}, Sample{600, 0, nan}, Options{}).Refused)
}
