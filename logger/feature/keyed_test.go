package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestParseKeyed(t *testing.T) {
	tests := []struct {
		in   string
		want float64
		unit string
		bad  string
	}{
		{in: "0.18", want: 0.18},
		{in: "0,18", want: 0.18},
		{in: "0.18 mm", want: 0.18, unit: "mm"},
		{in: "-0.02mm ", want: -0.02, unit: "mm"},
		{in: "- 0.02", want: -0.02},
		{in: ".007in", want: 0.007, unit: "in"},
		{in: "7 thou", want: 0.007, unit: "in"},
		{in: "7.5thou", want: 0.0075, unit: "in"},
		{in: "95 N·m", want: 95, unit: "N·m"},
		{in: "70 lbf.ft", want: 70, unit: "lbf·ft"},
		{in: "18 div", want: 0.18},
		{in: "3 1/2 div", want: 0.035},
		{in: "-3 1/2 div", want: -0.035},
		{in: "1/2 div", want: 0.005},
		{in: "1 1/64 in", want: 1.015625, unit: "in"},
		{in: "12", want: 12},
		// 34 to 39 N at about 65 mm is given as 2.2 to 2.5 N·m (handbook).
		{in: "60 ft lbs", want: 60, unit: "lbf·ft"},
		{in: "60 lbs-ft", want: 60, unit: "lbf·ft"},
		{in: "12 lbf in", want: 12, unit: "lbf·in"},
		{in: "12 in lb", want: 12, unit: "lbf·in"},
		{in: "13 kgf cm", want: 13, unit: "kgf·cm"},
		{in: "5 n m", want: 5, unit: "N·m"},
		{in: "2.1 L", want: 2.1, unit: "L"},
		{in: "1900 ml", want: 1900, unit: "ml"},
		{in: "2 qt", want: 2, unit: "qt"},
		{in: "0.2 kPa/min", want: 0.2, unit: "kPa/min"},
		{in: "21 C", want: 21, unit: "°C"},
		{in: "40 N x 50 mm", want: 2, unit: "N·m"},
		{in: "40N*50mm", want: 2, unit: "N·m"},
		{in: "34 N × 6,5 cm", want: 2.21, unit: "N·m"},
		{in: "9.5 lbf x 2 in", want: 19, unit: "lbf·in"},
		{in: "4 kgf x 50 mm", want: 20, unit: "kgf·cm"},

		{in: "40 N x 0.5 m", want: 20, unit: "N·m"},
		{in: "40 N x 0 mm", bad: `unit "N x 0 mm" is not known`},
		{in: "40 N x 2 in", want: 2.032, unit: "N·m"},
		{in: "soft", bad: `not one value`},
		{in: "0.18 furlong", bad: `unit "furlong" is not known`},
		{in: "0.1 0.2", bad: `not one value`},
		{in: "3 3/2 div", bad: `not one value`},
		{in: "1/0 div", bad: `not one value`},
		{in: "3 2e999", bad: `not one value`},
		{in: "3 4", bad: `not one value`},
		{in: "3.5 1/2 div", bad: "not one value"},
		{in: "3 1.5/2 div", bad: "not one value"},
		{in: "1/2.5 div", bad: `unit ".5 div" is not known`},
		{in: "1/2e3 div", bad: `unit "e3 div" is not known`},
		{in: "1/ div", bad: `unit "/ div" is not known`},
		{in: "3 1/0 div", bad: "not one value"},
		{in: "3 2/2 div", bad: "not one value"},
		{in: "1e3", want: 1000},
		{in: "40 n * 5 cm", want: 2, unit: "N·m"},
		{in: "1 N x 1 m", want: 1, unit: "N·m"},
		{in: "40 N 50 mm", bad: `unit "N 50 mm" is not known`},
		{in: "40 N x 50 mm x", bad: `unit "N x 50 mm x" is not known`},
		{in: "40 a x 50 mm", bad: `unit "a x 50 mm" is not known`},
		{in: "40 N x", bad: `unit "N x" is not known`},
		{in: "2 THOU", want: 0.002, unit: "in"},
		{in: "2 mils", want: 0.002, unit: "in"},
		{in: "NaN", bad: `not one value`},
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			v, unit, err := parseKeyed(tt.in, 0.01)
			if tt.bad != "" {
				require.EqualError(t, err, tt.bad)
				assert.Zero(t, v)
				return
			}
			require.NoError(t, err)
			assert.InDelta(t, tt.want, v, 1e-15)
			assert.Equal(t, tt.unit, unit)
		})
	}
}

func TestDivisionOfNoKnownSize(t *testing.T) {
	for _, word := range []string{"div", "divs", "division", "divisions", "DIV"} {
		v, _, err := parseKeyed("3 "+word, 0)
		require.EqualError(t, err, "the size of a division is not known")
		assert.Zero(t, v)
		v, _, err = parseKeyed("3 "+word, 0.5)
		require.NoError(t, err)
		assert.Equal(t, 1.5, v)
	}
}

func FuzzKeyed(f *testing.F) {
	for _, s := range []string{"0.18", "3 1/2 div", "7 thou", "-1/0 div", "1e999", "0,18 mm", "3 2e999", "40 N x 50 mm", "1e300kgf*1e300cm"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		v, unit, err := parseKeyed(string(b), 0.01)
		if err != nil {
			require.Zero(t, v)
			require.Empty(t, unit)
			return
		}
		require.False(t, math.IsNaN(v))
		require.False(t, math.IsInf(v, 0))
	})
}
