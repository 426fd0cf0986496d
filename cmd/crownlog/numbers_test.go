package main

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestNumbersInJSON(t *testing.T) {
	for _, c := range []struct {
		in   float64
		want string
	}{
		{0, "0"},
		{0.173, "0.173"},
		{0.1 + 0.2, "0.3"},
		{-0.012, "-0.012"},
		{123456.789, "123456.789"},
		{2.5e-9, "2.5e-09"},
		{1e20, "1e+20"},
		{math.NaN(), "null"},
		{math.Inf(1), "null"},
	} {
		got, err := json.Marshal(number(c.in))
		require.NoError(t, err)
		assert.Equal(t, c.want, string(got))
	}
}

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
