package record

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestFeatures(t *testing.T) {
	assert.Equal(t, []string{
		"backlash", "backlash-caps-snug", "runout-carrier-flange", "runout-bore", "bolt-torque-crown-wheel", "runout-back-face", "preload-pinion", "preload-total",
		"pattern-drive", "pattern-coast", "bolt-torque-caps", "leak-down", "engagement", "close-up", "oil-fill",
	}, Features(), "moves, notes and overrides are not measured")
	assert.False(t, IsMeasured("no-such-feature"))
	assert.Equal(t, "air test", Title(FeatureLeakDown))
	assert.Equal(t, "no-such-feature", Title("no-such-feature"))
	unit, ok := UnitOf(FeatureOilFill)
	assert.Equal(t, "L", unit)
	assert.True(t, ok)
	_, ok = UnitOf("no-such-feature")
	assert.False(t, ok)
}

// TestUnitsOfFeatures: factors of NIST SP 811 (2008), appendix B.8.
func TestUnitsOfFeatures(t *testing.T) {
	for _, tt := range []struct {
		feature string
		v       float64
		unit    string
		want    float64
	}{
		{FeatureBacklash, 0.2, "", 0.2}, {FeatureBacklash, 0.2, "mm", 0.2}, {FeatureBacklash, 7, "thou", 0.1778},
		{FeatureCapBolts, 60, "lbf·ft", 81.349077}, {FeaturePatternDrive, -0.3, "", -0.3},
		{FeatureEngagement, 2, "min", 120}, {FeatureEngagement, 600, "ms", 0.6}, {FeatureEngagement, 3, "s", 3},
		{FeatureOilFill, 1900, "ml", 1.9}, {FeatureOilFill, 1900, "mL", 1.9}, {FeatureOilFill, 2, "qt", 1.892705892}, {FeatureOilFill, 2, "l", 2},
		{FeatureLeakDown, 2, "bar/min", 200}, {FeatureLeakDown, 2, "psi/min", 13.789514586}, {FeatureLeakDown, 3, "kPa/min", 3},
	} {
		got, err := FeatureOf(tt.feature).Convert(tt.v, tt.unit)
		require.NoError(t, err)
		assert.InDelta(t, tt.want, got, 1e-6, "%g %s", tt.v, tt.unit)
	}
	for feature, want := range map[string]string{
		FeatureBacklash:     `unit "x": want mm, µm, in or thou`,
		FeatureCapBolts:     `unit "x": want N·m, lbf·ft, lbf·in, kgf·m or kgf·cm`,
		FeaturePatternDrive: `unit "x": contact pattern, drive flank has no unit`,
		FeatureEngagement:   `unit "x": want one of ["min" "ms" "s"]`,
		FeatureOilFill:      `unit "x": want one of ["L" "l" "mL" "ml" "qt"]`,
	} {
		_, err := FeatureOf(feature).Convert(1, "x")
		assert.EqualError(t, err, want)
		_, err = FeatureOf(feature).Convert(1, "kPa")
		assert.EqualError(t, err, strings.Replace(want, `"x"`, `"kPa"`, 1), "a unit of another quantity")
	}
	_, err := Feature{Unit: "kPa", Quantity: "pressure"}.Convert(1, "mm")
	assert.EqualError(t, err, `unit "mm": want kPa, bar, psi or MPa`, "of the readings of an air test")
}

func TestSafeNames(t *testing.T) {
	require.NoError(t, SafeName("as-found", "stage-2"))
	for _, name := range []string{"", "../up", "a/b", "Caps", "a b", "é"} {
		require.EqualError(t, SafeName("as-found", name), `name "`+name+`": want lower-case letters, digits and hyphens`)
	}
}
