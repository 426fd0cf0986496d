package main

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
)

func TestShow(t *testing.T) {
	assert.Equal(t, "0.173 mm", show(0.1729, "mm"))
	assert.Equal(t, "0.0068 in", show(0.00681, "in"))
	assert.Equal(t, "97.80 N·m", show(97.8, "N·m"))
	assert.Equal(t, "– mm", show(math.NaN(), "mm"))
}

// A value and its uncertainty end at the same decimal, JCGM 100:2008, 7.2.6.
func TestWithDoubt(t *testing.T) {
	assert.Equal(t, "0.1247 mm ± 0.0016 mm", withDoubt(0.12467, 0.00155, 2, "mm"))
	assert.Equal(t, "98 N·m ± 11 N·m", withDoubt(98.26, 10.47, 1, "N·m"))
	assert.Equal(t, "0.12 mm", withDoubt(0.12467, math.NaN(), 2, "mm"))
	assert.Equal(t, "0.12 mm", withDoubt(0.12467, 0, 2, "mm"))
	assert.Equal(t, "0.0015 mm", uncertain(0.00148, "mm"))
}

func TestWindowText(t *testing.T) {
	nan := math.NaN()
	assert.Equal(t, "at most 0.3051 mm", windowText(gum.Limits{Lower: nan, Upper: 0.3051}, "mm"))
	assert.Equal(t, "0.13 to 0.18 mm", windowText(gum.Limits{Lower: 0.13, Upper: 0.18}, "mm"))
	assert.Equal(t, "0.1300 to 0.1805 mm", windowText(gum.Limits{Lower: 0.13, Upper: 0.1805}, "mm"))
	assert.Equal(t, "88.2 to 107.8 N·m", windowText(gum.Limits{Lower: 98 * (1 - 0.1), Upper: 98 * (1 + 0.1)}, "N·m"), "and a trace")
	assert.Equal(t, "at least 1 N·m", windowText(gum.Limits{Lower: 1, Upper: nan}, "N·m"))
	assert.Equal(t, "73.215 to 89.483 N·m", windowText(gum.Limits{Lower: 73.214169, Upper: 89.483985}, "N·m"), "60 lbf·ft, rounded inwards")
}

func TestVerdictOfWhatHasNoWindow(t *testing.T) {
	none := gum.Limits{Lower: math.NaN(), Upper: math.NaN()}
	assert.Equal(t, "outside", verdictSentence(gum.Outside, none))
	assert.Equal(t, "inside", verdictSentence(gum.Inside, none))
	assert.Equal(t, "readings outside the entered window", verdictSentence(gum.Outside, gum.Limits{Lower: math.NaN(), Upper: 1}))
}
