package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/sheet"
)

func TestFigures(t *testing.T) {
	nan := math.NaN()
	for _, tc := range []struct {
		got, want string
	}{
		{Format{"mm", 3}.figure(0.1234), "0.123"},
		{Format{"mm", 2}.figure(-0.001), "0.00"},
		{Format{"mm", 2}.figure(-0.012), "−0.01"},
		{Format{"mm", 2}.figure(nan), "–"},
		{Format{"mm", 2}.quantity(nan), "–"},
		{Format{"", 0}.quantity(3), "3"},
		{Format{"mm", 3}.signed(0.012), "+0.012"},
		{Format{"mm", 3}.signed(0.0001), "0.000"},
		{Format{"mm", 3}.signed(-0.012), "−0.012"},
		{Format{"mm", 3}.plusMinus(0.169, 0.0042), "0.1690 ± 0.0042 mm"},
		{Format{"mm", 2}.plusMinus(0.17, 0.0042), "0.1700 ± 0.0042 mm"},
		{Format{"mm", 2}.plusMinus(0.17, nan), "0.17 mm"},
		{Format{"mm", 2}.plusMinus(0.17, 0), "0.17 mm"},
		{Format{"mm", 3}.doubt(0.0042), " ± 0.0042"},
		{Format{"mm", 3}.doubt(nan), ""},
		{Format{"mm", 3}.doubt(0), ""},
		{Format{"mm", 3}.uncertainty(nan), "–"},
		{Format{"mm", 3}.uncertainty(0), "–"},
		{Format{"N·m", 1}.plusMinus(98.26, 10.47), "98 ± 11 N·m"},
		{Format{"mm", 2}.limits(gum.Limits{Lower: 0.13, Upper: 0.2}), "0.13 to 0.20 mm"},
		{Format{"mm", 2}.limits(gum.Limits{Lower: nan, Upper: 0.08}), "≤ 0.08 mm"},
		{Format{"mm", 2}.limits(gum.Limits{Lower: 0.08, Upper: nan}), "≥ 0.08 mm"},
		{Format{"mm", 2}.limits(gum.NoLimits("mm")), "–"},
		{upperFirst("änderung"), "Änderung"},
		{upperFirst(""), ""},
	} {
		assert.Equal(t, tc.want, tc.got)
	}
}

func TestMillimetres(t *testing.T) {
	for resolution, want := range map[float64]int{0.01: 3, 0.001: 3, 0.0005: 4, 0.002: 3, 1: 3, 0.00127: 5, 0: 3} {
		var s sheet.Sheet
		s.Gauge.ResolutionMM = resolution
		assert.Equal(t, Format{"mm", want}, millimetres(s), "%v", resolution)
	}
}

func TestContactWords(t *testing.T) {
	assert.Equal(t, "–", contactWords(nil))
	assert.Equal(t, "in the middle of the length, halfway up", contactWords(&setup.Contact{}))
	assert.Equal(t, "in the middle of the length, halfway up", contactWords(&setup.Contact{Along: -0.25, Up: 0.25}), "as the advice takes it")
	assert.Equal(t, "towards the toe, towards the face", contactWords(&setup.Contact{Along: -0.6, Up: 0.5}))
	assert.Equal(t, "towards the heel, towards the root", contactWords(&setup.Contact{Along: 0.3, Up: -0.3}))
}
