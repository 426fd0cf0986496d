package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDisplayStep(t *testing.T) {
	assert.InDelta(t, 0.001, DisplayStep([]float64{0.123, 0.125, 0.130, 0.123}), 1e-12)
	assert.InDelta(t, 0.0254, DisplayStep([]float64{25.4 * 0.120, 25.4 * 0.123, 25.4 * 0.125}), 1e-9)
	assert.InDelta(t, 0.1, DisplayStep([]float64{700, 698.1, 696}), 1e-9)
	assert.Zero(t, DisplayStep([]float64{0.5, 0.5}))
	assert.Zero(t, DisplayStep(nil))
	assert.Zero(t, DisplayStep([]float64{math.Sqrt2, math.Pi, math.E, math.Ln2}), "not rounded to any step")
}
