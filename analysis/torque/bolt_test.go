package torque

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/internal/check"
)

// Sources: US Army TM 9-254 and aircraft maintenance practice (the figures of FAA
// AC 43.13-1B), neither page nor paragraph at hand; hand-tool manuals. All figures were
// read in a copy and confirmed.
func TestAdapterSetting(t *testing.T) {
	for _, c := range []struct {
		name                      string
		torque, l, e, angle, want float64
	}{
		{"aircraft practice, in line", 135, 10, 1.5, 0, 117.391304},
		{"aircraft practice, reversed", 135, 10, 1.5, 180, 158.823529},
		{"hand-tool manual", 50, 16, 2, 0, 44.444444},
		{"hand-tool page", 30, 12, 6, 0, 20},
		{"square to the handle", 80, 10, 3, 90, 80},
		{"trade note, 100 N·m (computed)", 100, 400, 60, 0, 86.956522},
	} {
		assert.InDelta(t, c.want, AdapterSetting(c.torque, c.l, c.e, c.angle), 5e-7, c.name)
		assert.InDelta(t, c.torque, AdapterTorque(AdapterSetting(c.torque, c.l, c.e, c.angle), c.l, c.e, c.angle), 1e-9, c.name)
	}
	assert.InDelta(t, 70, AdapterTorque(60, 12, 2, 0), 1e-12, "TM 9-254: 60 in·lb set gives 70")
	assert.True(t, math.IsNaN(AdapterSetting(100, 0, 10, 0)))
	assert.True(t, math.IsNaN(AdapterSetting(100, 10, 10, 180)), "reaches back to the grip")
	assert.True(t, math.IsNaN(AdapterTorque(100, 0, 10, 0)))
	assert.True(t, math.IsNaN(AdapterTorque(100, 10, 10, 180)))
	assert.True(t, math.IsNaN(AdapterSetting(100, -5, 10, 0)) && math.IsNaN(AdapterTorque(100, -5, 10, 0)))
}

// Source: ISO 6789-1:2017. Type II class A is confirmed; the other classes and
// the definition of the deviation are from memory.
func TestToolLimits(t *testing.T) {
	rows := 0
	for _, row := range check.Rows(t, "torque_iso6789.csv")[1:] {
		kind, _, _ := strings.Cut(row[0], " ")
		if !strings.Contains(map[string]string{"I": "BCE", "II": "ABC"}[kind], row[1]) {
			continue
		}
		for column, largest := range map[int]float64{3: 10, 4: 200} {
			assert.Equal(t, check.Number(t, row[column]), ToolLimit(largest), "%s %s", row[0], row[1])
		}
		rows++
	}
	assert.Equal(t, 6, rows)
	assert.Equal(t, 6.0, ToolLimit(math.NaN()))
	assert.Equal(t, 4.0, ToolLimit(10.1))
	deviation := func(shown, reference float64) float64 { return 100 * (shown - reference) / reference }
	assert.InDelta(t, -3.846154, deviation(100, 104), 5e-7, "of the reference, not of the reading")
}

// areaOf is the stress area of a thread by its name.
func areaOf(thread string) (float64, error) {
	d, pitch, err := parseThread(thread)
	return stressArea(d, pitch), err
}

// Source: ISO 898-1 (coarse table from one public copy of the table; fine pitch
// computed). The printed loads are not a plain rounding: 0.5 %.
func TestBoltTable(t *testing.T) {
	rows := check.Rows(t, "bolts_iso898.csv")
	for _, row := range rows[1:] {
		area, err := areaOf(row[0])
		require.NoError(t, err)
		assert.InEpsilon(t, check.Number(t, row[6]), area, 1e-5, row[0])
		assert.InEpsilon(t, check.Number(t, row[5]), area, 5e-3, row[0])
		for j, head := range rows[0] {
			class, ok := strings.CutPrefix(head, "proof_load_N_class_")
			if !ok || row[j] == "" || (class == "8.8" && row[0] == "M16x1.5") {
				continue
			}
			_, load, err := proofLoad(row[0], class)
			require.NoError(t, err)
			assert.InEpsilon(t, check.Number(t, row[j]), load, 0.0065, "%s %s", row[0], class)
		}
	}
	_, load, err := proofLoad("M10", "10.9")
	require.NoError(t, err)
	assert.InEpsilon(t, 48100, load, 0.005)
	ceiling, err := BoltCeiling("M10×1,25", "10.9")
	require.NoError(t, err)
	assert.InDelta(t, 0.2*10e-3*50800, ceiling, 0.5)
	for _, bad := range []string{"", "M", "10x1.25", "M10x", "M10x9", "Mx1", "M-10", "MNaN", "MInf", "UNC 3/8", "M10x0", "M10x-1", "M10xInf", "M10x1.25.1", "MInfxInf", "M1e999x1", "M3.4", "M10x3.34"} {
		_, err := areaOf(bad)
		assert.ErrorIs(t, err, ErrUnknownThread, bad)
	}
	for thread, want := range map[string]float64{"M3.5": 6.775, "m8": 36.61, "M10 x 1,25": 61.20, "M6*0.75": 22.03, "M12X1.5": 88.13, "M30x10": 333.9} {
		area, err := areaOf(thread)
		require.NoError(t, err, thread)
		assert.InEpsilon(t, want, area, 1e-3, "%s (computed)", thread)
	}
	_, light, err := proofLoad("M16", "8.8")
	require.NoError(t, err)
	_, heavy, err := proofLoad("M18", " 8.8 ")
	require.NoError(t, err)
	a16, _ := areaOf("M16")
	a18, _ := areaOf("M18")
	assert.InDelta(t, 580*a16, light, 1e-6)
	assert.InDelta(t, 600*a18, heavy, 1e-6, "8.8 is stronger above M16")
	_, err = BoltCeiling("M10", "11.9")
	assert.ErrorIs(t, err, ErrUnknownThread)
}
