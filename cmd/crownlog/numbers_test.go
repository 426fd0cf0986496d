package main

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestShow(t *testing.T) {
	assert.Equal(t, "0.173 mm", show(0.1729, "mm"))
	assert.Equal(t, "0.0068 in", show(0.00681, "in"))
	assert.Equal(t, "97.80 N·m", show(97.8, "N·m"))
	assert.Equal(t, "-", show(math.NaN(), "mm"))
}

func TestDecimalsOf(t *testing.T) {
	for v, want := range map[float64]int{12: 0, 0.5: 1, -0.173: 3, 0.00685: 5} {
		assert.Equal(t, want, decimalsOf(v), v)
	}
}
