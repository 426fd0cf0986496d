package stat

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestWrap(t *testing.T) {
	for v, want := range map[float64]float64{0: 0, 359: 359, 360: 0, 725: 5, -90: 270, -360: 0, -1e-20: 0, 1e-20: 1e-20} {
		assert.Equal(t, want, Wrap(v, 360), v)
	}
}

func TestWhatANumberIs(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, v := range []float64{0, -1, 1e300} {
		assert.True(t, Finite(v), v)
	}
	for _, v := range []float64{nan, inf, -inf} {
		assert.False(t, Finite(v) || Sensible(v), v)
		assert.Zero(t, Square(v))
	}
	assert.True(t, Sensible(-999999999) && Sensible(0))
	assert.False(t, Sensible(1e9) || Sensible(-1e9))
	assert.Equal(t, 9.0, Square(-3))
}
