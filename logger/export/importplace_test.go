package export

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestColumnsInAnyOrder: the first column is one like the others, and a space
// behind what stands between the columns is none of the cell.
func TestColumnsInAnyOrder(t *testing.T) {
	for _, tt := range []struct {
		text string
		want Row
	}{
		{"angle_deg,value\n45,0.1\n", Row{Line: 2, AngleDeg: 45, Value: 0.1, Unit: "mm", TemperatureC: math.NaN()}},
		{"temperature_c,value\n21,0.1\n", Row{Line: 2, AngleDeg: math.NaN(), Value: 0.1, Unit: "mm", TemperatureC: 21}},
		{"unit, value\nthou, 0.1\n", Row{Line: 2, AngleDeg: math.NaN(), Value: 0.1, Unit: "thou", TemperatureC: math.NaN()}},
		{"unit; value\n; \"0,1\"\n", Row{Line: 2, AngleDeg: math.NaN(), Value: 0.1, Unit: "mm", TemperatureC: math.NaN()}},
		{"value\tunit\n0.1\t\n", Row{Line: 2, AngleDeg: math.NaN(), Value: 0.1, Unit: "mm", TemperatureC: math.NaN()}},
		{"sep=;\nvalue\n0,1\n", Row{Line: 3, AngleDeg: math.NaN(), Value: 0.1, Unit: "mm", TemperatureC: math.NaN()}},
	} {
		im, err := NewImporter("t.csv", strings.NewReader(tt.text), Mapping{DefaultUnit: "mm"})
		require.NoError(t, err)
		assert.Equal(t, strings.Contains(tt.text, "angle_deg"), im.HasAngle)
		assert.False(t, im.HasTime)
		rows, err := importAll("t.csv", tt.text, Mapping{DefaultUnit: "mm"})
		require.NoError(t, err, tt.text)
		row := rows[0]
		assert.Equal(t, fmt.Sprint(tt.want), fmt.Sprint(row), "as text, for NaN is not equal to itself")
	}
}

// TestPlacesBehindTheSeparatorLine count it.
func TestPlacesBehindTheSeparatorLine(t *testing.T) {
	first := func(text string) error {
		_, err := importAll("t.csv", text, Mapping{})
		return err
	}
	require.ErrorContains(t, first("sep=;\nvalue\nx\n"), "t.csv:3:1: value \"x\" is not a finite number")
	require.ErrorContains(t, first("sep=;\nvalue\n1;2\n"), "t.csv:3:1: this row has not the 1 columns of the header")
	require.ErrorContains(t, first("sep=;\nvalue\n\"1\"x\n"), "t.csv:3:")
	require.ErrorContains(t, first("sep=;;\nvalue\n"), "t.csv:1:1: no column \"value\"", "that says nothing of columns")
	require.ErrorContains(t, first("value,temperature_c\n1,x\n"), "t.csv:2:3: temperature \"x\"")
	require.ErrorContains(t, first("value,angle_deg\n1,x\n"), "t.csv:2:3: angle \"x\"")
	im, err := NewImporter("t.csv", strings.NewReader("sep=;\nvalue;what\n1;2\n"), Mapping{})
	require.NoError(t, err)
	require.ErrorContains(t, im.NeedTime(), "t.csv:2:1: no column \"time\"; the columns are value, what; ")
}

// TestTimeMayStand: a logger that stamps two rows alike has not gone back.
func TestTimeMayStand(t *testing.T) {
	_, err := importAll("t.csv", "time,value\n1,0\n1,0\n", Mapping{})
	require.NoError(t, err)
	_, err = importAll("t.csv", "time,value\n1,0\n1,0\n0.9,0\n", Mapping{})
	require.ErrorContains(t, err, "t.csv:4:1: time \"0.9\" goes back")
}

// TestQuotedCells: as encoding/csv reads them, but for a line end in one.
func TestQuotedCells(t *testing.T) {
	for line, want := range map[string]string{
		`"0","1",x`: "", ` "0" , "1" ,x`: "", `0,1,"a ""b"", c"`: "", `0,1,""`: "", "0,1,\"\"\r": "", `0,"1`: "x.csv:2:3: quotes do not match",
		`0,1,a"b`: "x.csv:2:5: quotes do not match", `0,"1"2,x`: "x.csv:2:3: quotes do not match", `0,"1"",x`: "x.csv:2:3: quotes do not match",
	} {
		rows, err := importAll("x.csv", "time,value,note\n"+line+"\n", Mapping{})
		if want != "" {
			assert.ErrorContains(t, err, want, line)
			continue
		}
		require.NoError(t, err, line)
		assert.InDelta(t, 1, rows[0].Value, 0, line)
	}
}
