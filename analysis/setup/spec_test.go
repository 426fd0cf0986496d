package setup

import (
	"math"
	"testing"

	"crownlog/analysis/gum"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func kindsOf(d []Doubt) []string {
	var k []string
	for _, q := range d {
		k = append(k, q.Kind)
	}
	return k
}

// The misprints are ones that occur in real manuals: 11 to 19 N·m printed for
// 8 to 14 lbf·in, and kgf·cm for kgf·m (handbooks).
func TestMisprints(t *testing.T) {
	columns := func(a float64, ua string, b float64, ub string) []string {
		d, err := CheckColumns(a, ua, b, ub)
		require.NoError(t, err)
		return kindsOf(d)
	}
	assert.Empty(t, columns(1.1, "N·m", 10, "lbf·in"))
	assert.Empty(t, columns(98, "N·m", 72, "lbf·ft"))
	assert.Equal(t, []string{DoubtTen}, columns(11, "N·m", 8*11.0/9, "lbf·in"))
	assert.Equal(t, []string{DoubtKgfCm}, columns(98, "N·m", 10, "kgf·cm"))
	assert.Equal(t, []string{DoubtColumns}, columns(98, "N·m", 60, "lbf·ft"))
	assert.Equal(t, []string{DoubtColumns}, columns(0, "N·m", 60, "lbf·ft"))
	_, err := CheckColumns(1, "N·m", 1, "mm")
	assert.Error(t, err)

	assert.Empty(t, CheckBoltTorque(83, "M10x1.25", "10.9"))
	assert.Equal(t, []string{DoubtTen}, kindsOf(CheckBoltTorque(830, "M10x1.25", "10.9")))
	assert.Equal(t, []string{DoubtCeiling}, kindsOf(CheckBoltTorque(130, "M10x1.25", "8.8")))
	assert.Equal(t, []string{DoubtKgfCm}, kindsOf(CheckBoltTorque(0.8, "M10x1.25", "10.9")))
	assert.Equal(t, []string{DoubtTen}, kindsOf(CheckBoltTorque(6.5, "M10x1.25", "10.9")))
	assert.Empty(t, CheckBoltTorque(83, "3/8 UNF", "8"), "not in the tables")

	assert.Empty(t, CheckPreload(1.4))
	assert.Equal(t, []string{DoubtTen}, kindsOf(CheckPreload(15)))
	assert.Equal(t, []string{DoubtKgfCm}, kindsOf(CheckPreload(0.012)))
}

func TestWindowAgainstSize(t *testing.T) {
	assert.Empty(t, CheckWindow(gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, 200))
	assert.Equal(t, []string{DoubtInches}, kindsOf(CheckWindow(gum.Limits{Lower: 0.006, Upper: 0.008, Unit: "mm"}, 200)))
	assert.Equal(t, []string{DoubtOrder}, kindsOf(CheckWindow(gum.Limits{Lower: 0.2, Upper: 0.15, Unit: "mm"}, 200)))
	assert.Equal(t, []string{DoubtWide}, kindsOf(CheckWindow(gum.Limits{Lower: 0.15, Upper: 0.9, Unit: "mm"}, 200)))
	assert.Equal(t, []string{DoubtTight}, kindsOf(CheckWindow(gum.Limits{Lower: 0.06, Upper: 0.09, Unit: "mm"}, 240)))
	assert.Empty(t, CheckWindow(gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, 0), "size not known")
}

func TestGaugeAgainstWindow(t *testing.T) {
	window := gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}
	assert.Empty(t, CheckGauge(window, 0.001, 0.003, 0.002))
	assert.Equal(t, []string{DoubtCoarse}, kindsOf(CheckGauge(window, 0.01, 0, 0.002)))
	d := CheckGauge(window, 0.01, 0.02, 0.004)
	assert.Equal(t, []string{DoubtUndecided}, kindsOf(d))
	assert.Contains(t, d[0].Text, "needs u below 0.0128")
	assert.Empty(t, CheckGauge(gum.Limits{Lower: math.NaN(), Upper: 0.05, Unit: "mm"}, 0.01, 0, 0))
}

func TestDefaultWindow(t *testing.T) {
	for _, size := range []float64{100, 190, 240, 400, 500} {
		d, err := DefaultWindow(size)
		require.NoError(t, err)
		assert.Contains(t, d.Source, "to be confirmed by the maker's manual")
		assert.Empty(t, CheckWindow(d.Spec.Limits, size), "a default is not doubted: %g", size)
	}
	d, err := DefaultWindow(190)
	require.NoError(t, err)
	assert.Equal(t, gum.Limits{Lower: 0.13, Upper: 0.18, Unit: "mm"}, d.Spec.Limits)
	for _, size := range []float64{0, 20, 5000, math.NaN()} {
		_, err := DefaultWindow(size)
		assert.Error(t, err, "%v", size)
	}
}
