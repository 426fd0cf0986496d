package setup

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
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
	assert.InDelta(t, 0.0128, d[0].Args[1], 0.00005)
	assert.Empty(t, CheckGauge(gum.Limits{Lower: math.NaN(), Upper: 0.05, Unit: "mm"}, 0.01, 0, 0))
}

func TestDefaultWindow(t *testing.T) {
	for _, size := range []float64{100, 190, 240, 400, 500} {
		d, err := DefaultWindow(size)
		require.NoError(t, err)
		assert.Contains(t, d.Source, "to be confirmed by the maker's manual")
		assert.Empty(t, CheckWindow(d.Spec.Limits, size), "a default is not doubted: %g", size)
	}
	for _, size := range []float64{100, 190, 240, 400, 500} {
		d, err := DefaultWindow(size)
		require.NoError(t, err)
		assert.Empty(t, CheckFace(d.BackFace, 0.75, d.Spec), "the steepest usual gain: %g", size)
		assert.False(t, gum.Below(d.Spec.Limits.Width(), d.Spec.MaxSpread), "a spread limit that binds: %g", size)
	}
	d, err := DefaultWindow(190)
	require.NoError(t, err)
	assert.Equal(t, gum.Limits{Lower: 0.13, Upper: 0.18, Unit: "mm"}, d.Spec.Limits)
	for _, size := range []float64{0, 20, 5000, math.NaN()} {
		_, err := DefaultWindow(size)
		assert.Error(t, err, "%v", size)
	}
}

// Edges of each figure that a sheet may misprint.
func TestMisprintEdges(t *testing.T) {
	columns := func(a, b float64) []string {
		d, err := CheckColumns(a, "mm", b, "mm")
		require.NoError(t, err)
		return kindsOf(d)
	}
	for a, want := range map[float64][]string{
		1: nil, 1.05: nil, 0.95: nil, 1.07: {DoubtColumns}, 10.5: {DoubtTen}, 12: {DoubtColumns}, 0.1: {DoubtTen}, 0.114: {DoubtTen},
		100: {DoubtKgfCm}, 114: {DoubtKgfCm}, 120: {DoubtColumns}, 0.01: {DoubtKgfCm}, 0.02: {DoubtColumns}, -1: {DoubtColumns},
	} {
		assert.Equal(t, want, columns(a, 1), a)
	}
	assert.Equal(t, []string{DoubtColumns}, columns(1, 0))
	d, err := CheckColumns(10, "mm", 1, "in")
	require.NoError(t, err)
	assert.Equal(t, Doubt{DoubtColumns, OfColumns, []float64{10, 1, 25.4}, []string{"mm", "in"}}, d[0])

	// The ceiling of M10x1.25 in class 10.9 is 101.6 N·m.
	for nm, want := range map[float64][]string{
		101: nil, 102: {DoubtCeiling}, 250: {DoubtTen}, 1100: {DoubtCeiling}, 7: nil, 6.7: {DoubtTen}, 1.5: nil, 0.9: {DoubtKgfCm}, 0.1: nil, 0: nil, -5: nil,
	} {
		assert.Equal(t, want, kindsOf(CheckBoltTorque(nm, "M10x1.25", "10.9")), nm)
	}
	for nm, want := range map[float64][]string{
		0.3: nil, 8: nil, 0.29: {DoubtTen}, 8.1: {DoubtTen}, 80: {DoubtTen}, 81: {DoubtKgfCm}, 800: {DoubtKgfCm}, 801: {DoubtColumns},
		0.03: {DoubtTen}, 0.029: {DoubtKgfCm}, 0.003: {DoubtKgfCm}, 0.0029: {DoubtColumns}, 0: nil, -1: nil,
	} {
		assert.Equal(t, want, kindsOf(CheckPreload(nm)), nm)
	}
}

// A face of 0.10 swings a light axle's backlash by 0.065, more than its window of
// 0.05 is wide; a limit of the spread binds before the width.
func TestFaceLimit(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.13, Upper: 0.18, Unit: "mm"}, MaxSpread: math.NaN()}
	d := CheckFace(0.10, UsualAxialGain, spec)
	require.Equal(t, []string{DoubtSwing}, kindsOf(d))
	assert.InDeltaSlice(t, []float64{0.10, 0.065, 0.05}, d[0].Args, 1e-12)
	assert.Empty(t, CheckFace(0.07, UsualAxialGain, spec))
	spec.MaxSpread = 0.04
	assert.Len(t, CheckFace(0.07, UsualAxialGain, spec), 1)
	assert.Empty(t, CheckFace(math.NaN(), UsualAxialGain, spec), "no limit")
	spec.Limits, spec.MaxSpread = gum.Limits{Lower: math.NaN(), Upper: math.NaN()}, math.NaN()
	assert.Empty(t, CheckFace(0.5, UsualAxialGain, spec), "no window")
}

func TestWindowEdges(t *testing.T) {
	kinds := func(lower, upper, size float64) []string {
		return kindsOf(CheckWindow(gum.Limits{Lower: lower, Upper: upper, Unit: "mm"}, size))
	}
	assert.Equal(t, []string{DoubtOrder}, kinds(0.2, 0.2, 200), "no width")
	assert.Nil(t, kinds(0.2, 1.53, 0), "of a size that is not known three times 0.51")
	assert.Equal(t, []string{DoubtWide}, kinds(0.2, 1.54, 0))
	assert.Equal(t, []string{DoubtOrder}, kinds(0.2, 0.1, 0), "whatever the size")
	assert.Nil(t, kinds(0.05, 0.53, 200), "three times 0.18 at most, a quarter of 0.2 at least")
	assert.Equal(t, []string{DoubtWide}, kinds(0.05, 0.55, 200))
	assert.Equal(t, []string{DoubtTight}, kinds(0.049, 0.2, 200))
	assert.Equal(t, []string{DoubtTight}, kinds(0.06, 0.099, 200))
	assert.Equal(t, []string{DoubtTight, DoubtWide}, kinds(0.01, 0.6, 200))
	assert.Equal(t, []string{DoubtTight}, kinds(0.001, 0.002, 200), "nor would it fit as inches")
	assert.Equal(t, []string{DoubtInches}, kinds(0.015, 0.02, 200))
	window := gum.Limits{Lower: 0.1, Upper: 0.2, Unit: "mm"}
	assert.Nil(t, kindsOf(CheckGauge(window, 0.0099, 0, 0.001)))
	assert.Equal(t, []string{DoubtCoarse}, kindsOf(CheckGauge(window, 0.0101, 0, 0.001)))
	assert.Equal(t, []string{DoubtUndecided}, kindsOf(CheckGauge(window, 0.001, 0.045, 0)), "u = 0.026")
	assert.Nil(t, kindsOf(CheckGauge(window, 0.001, 0.043, 0)), "u = 0.025")
	assert.Equal(t, []string{DoubtUndecided}, kindsOf(CheckGauge(window, 0.001, 0, 0.026)))
	assert.Nil(t, kindsOf(CheckGauge(gum.Limits{Lower: 0.2, Upper: 0.1}, 0.1, 0, 0)))
	for size, want := range map[float64]float64{80: 0.15, 179: 0.15, 180: 0.18, 215: 0.20, 270: 0.46, 432: 0.51, 999: 0.51} {
		d, err := DefaultWindow(size)
		require.NoError(t, err)
		assert.Equal(t, want, d.Spec.Limits.Upper, size)
	}
	heavy, _ := DefaultWindow(300)
	assert.True(t, math.IsNaN(heavy.Spec.MaxSpread) && heavy.BackFace == 0.2 && heavy.Spec.Limits.Lower == 0.2)
}
