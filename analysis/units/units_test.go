package units

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"crownlog/analysis/internal/check"
)

// Source: NIST SP 811 (2008), appendix B; exact definitions (confirmed against
// a second unit database).
func TestUnitFactors(t *testing.T) {
	ours := map[string]string{"inch": "in", "mil (0.001 in)": "thou", "psi (lbf/in2)": "psi", "kgf/cm2 (at)": "kgf/cm²"}
	checked := 0
	for _, row := range check.Rows(t, "units.csv")[1:] {
		from, to := row[1], row[2]
		if s, ok := ours[from]; ok {
			from = s
		}
		got, err := Convert(1, from, to)
		if err != nil {
			continue // a unit no gauge here uses
		}
		checked++
		assert.Equal(t, check.Number(t, row[6]), got, "%s to %s", from, to)
	}
	assert.GreaterOrEqual(t, checked, 10)
	for from, want := range map[string]float64{"lbf·ft": 1.3558179483314004, "lbf·in": 0.1129848290276167, "kgf·m": 9.80665, "kgf·cm": 0.0980665} {
		got, err := Convert(1, from, "N·m")
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	psi, err := Convert(1, "psi", "kPa")
	require.NoError(t, err)
	assert.Equal(t, 6.894757293168361, psi)
	// 20 lbf·in as a spring-scale preload. Source: exact factor.
	v, err := Convert(20, "in-lb", "Nm")
	require.NoError(t, err)
	assert.InDelta(t, 2.259696580552334, v, 1e-15)
}

func TestUnitSpellings(t *testing.T) {
	for word, want := range map[string]string{
		"mm": "mm", " MM ": "mm", "Inch": "in", "um": "µm", "μm": "µm", "µm": "µm", "thou": "thou",
		"Nm": "N·m", "N.m": "N·m", "N m": "N·m", "N•m": "N·m", "ft-lb": "lbf·ft", "lbf.ft": "lbf·ft", "FT.LB": "lbf·ft",
		"in-lb": "lbf·in", "lb in": "lbf·in", "kgf.m": "kgf·m", "kgf-cm": "kgf·cm", "kPa": "kPa", "KPA": "kPa", "bar": "bar",
		"MPa ": "MPa", "mbar": "mbar", "hPa": "mbar", "PSI": "psi", "°": "deg", "degC": "°C", "MPa": "MPa",
	} {
		got, ok := spellings[plain(word)]
		require.True(t, ok, word)
		assert.Equal(t, want, got.name, word)
	}
	for _, word := range []string{"", "furlong", "mPa", "m", "mPascal"} {
		_, ok := spellings[plain(word)]
		assert.False(t, ok, word)
	}
	quantity, base, err := Canonical("ft-lb")
	require.NoError(t, err)
	assert.Equal(t, "torque", quantity)
	assert.Equal(t, "N·m", base)
	_, _, err = Canonical("stone")
	assert.EqualError(t, err, `unknown unit "stone"`)
	_, err = Convert(1, "mm", "kPa")
	assert.EqualError(t, err, `cannot turn length "mm" into pressure "kPa"`)
	_, err = Convert(1, "mm", "ell")
	assert.Error(t, err)
}

func TestUnitRoundTrip(t *testing.T) {
	var names []string
	for _, u := range table {
		names = append(names, u.name)
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(1e-9, 1e6).Draw(t, "v") // what a gauge may show; further down digits are lost
		from, to := rapid.SampledFrom(names).Draw(t, "from"), rapid.SampledFrom(names).Draw(t, "to")
		there, err := Convert(v, from, to)
		if err != nil {
			return // different quantities
		}
		back, err := Convert(there, to, from)
		require.NoError(t, err)
		assert.LessOrEqual(t, math.Abs(back-v), math.Abs(math.Nextafter(v, math.Inf(1))-v), "%v %s to %s", v, from, to)
	})
}

func TestShort(t *testing.T) {
	for v, want := range map[float64]string{0: "0", 0.15: "0.15", 2: "2", 10: "10", 100: "100", 0.12344: "0.1234", 0.12346: "0.1235", -0.00001: "0", -0.5: "-0.5", 1234.5: "1234.5"} {
		assert.Equal(t, want, Short(v))
	}
	assert.Equal(t, "1 notch", Counted(1, "notch", "notches"))
	assert.Equal(t, "0 notches", Counted(0, "notch", "notches"))
	assert.Equal(t, "2 notches", Counted(2, "notch", "notches"))
}

func TestBaseUnits(t *testing.T) {
	for unit, want := range map[string][2]string{"inch": {"length", "mm"}, "ft-lb": {"torque", "N·m"}, "psi": {"pressure", "kPa"}, "°": {"angle", "deg"}, "C": {"temperature", "°C"}} {
		quantity, base, err := Canonical(unit)
		require.NoError(t, err)
		assert.Equal(t, want, [2]string{quantity, base})
	}
}

func TestRoundToHasNoNegativeZero(t *testing.T) {
	assert.False(t, math.Signbit(RoundTo(-4e-7, 1e-6)))
	assert.Equal(t, -0.002, RoundTo(-0.0016, 1e-3))
	assert.True(t, math.IsNaN(RoundTo(math.NaN(), 1e-3)))
}

func TestFixed(t *testing.T) {
	for want, got := range map[string]string{
		"0.17": Fixed(0.1699, 2), "-0.02": Fixed(-0.0151, 2), "0.00": Fixed(-0.004, 2), "98": Fixed(98.4, -1),
		"–": Fixed(math.NaN(), 2),
	} {
		assert.Equal(t, want, got)
	}
	assert.Equal(t, "–", Fixed(math.Inf(1), 0))
}
