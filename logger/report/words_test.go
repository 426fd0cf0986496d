package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
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
		{Format{"°", 0}.quantity(3), "3°"},
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
		{Format{"mm", 2}.finer().figure(0.1689), "0.169"},
		{Format{"mm", 3}.finer().figure(0.16891), "0.169"},
		{Format{"N·m", 1}.finer().figure(98.123), "98.12"},
		{Format{"mm", 2}.limits(gum.Limits{Lower: 0.13, Upper: 0.2}), "0.13 to 0.20 mm"},
		{Format{"mm", 2}.limits(gum.Limits{Lower: nan, Upper: 0.08}), "≤ 0.08 mm"},
		{Format{"mm", 2}.limits(gum.Limits{Lower: 0.08, Upper: nan}), "≥ 0.08 mm"},
		{Format{"mm", 2}.limits(gum.NoLimits("mm")), "–"},
		{Format{"mm", 2}.windowWords(gum.NoLimits("mm")), "no window entered"},
		{Format{"mm", 2}.windowWords(gum.Limits{Lower: 0.13, Upper: 0.2}), "window 0.13 to 0.20 mm"},
		{upperFirst("änderung"), "Änderung"},
		{upperFirst(""), ""},
	} {
		assert.Equal(t, tc.want, tc.got)
	}
}

func TestResolved(t *testing.T) {
	for resolution, want := range map[float64]int{0.01: 2, 0.001: 3, 0.0005: 4, 0.002: 3, 1: 0, 0.1: 1, 0.00127: 5, 0: 3, -1: 3} {
		assert.Equal(t, want, resolved(resolution, 3), "%v", resolution)
	}
}

func TestContactWords(t *testing.T) {
	assert.Equal(t, "Contact in the middle of the length, halfway up.", contactWords(setup.Contact{}))
	assert.Equal(t, "Contact in the middle of the length, halfway up.", contactWords(setup.Contact{Along: -0.25, Up: 0.25}), "as the advice takes it")
	assert.Equal(t, "Contact towards the toe, towards the face.", contactWords(setup.Contact{Along: -0.6, Up: 0.5}))
	assert.Equal(t, "Contact towards the heel, towards the root.", contactWords(setup.Contact{Along: 0.3, Up: -0.3}))
}
