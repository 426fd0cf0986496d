package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/logger/record"
)

// The picture takes the temperature out as the rate does, also where the thermometer
// was read later than the pressure. A line that only cools loses nothing: 1 K in 293.15 K of 800 kPa absolute is
// 2.73 kPa of reading.
func TestLeakCurveAtOneTemperature(t *testing.T) {
	s := []leak.Sample{{T: 0, P: 698.675, TempC: 20}, {T: 60, P: 698.675 - 800/293.15, TempC: 19}}
	got, _, restated := leak.Compensated(s, 101.325)
	require.True(t, restated)
	assert.InDelta(t, 698.675, got[0].P, 1e-9)
	assert.InDelta(t, 698.675, got[1].P, 1e-9)
	assert.InDelta(t, 695.946, s[1].P, 1e-3, "the readings stay as they are")

	s[0].TempC, s[1].TempC = math.NaN(), math.NaN()
	got, _, restated = leak.Compensated(s, 101.325)
	assert.False(t, restated)
	assert.Equal(t, s[0].P, got[0].P)
}

// TestLongLeakCurve: no more points are drawn than can be told apart, with both ends.
func TestLongLeakCurve(t *testing.T) {
	d := demoData()
	long := make([]leak.Sample, 10_000)
	for i := range long {
		long[i] = leak.Sample{T: float64(i), P: 650 - float64(i)/1000, TempC: math.NaN()}
	}
	m := airTest(d)
	m.Curve = long
	for _, m := range leakPicture(*m, long).marks {
		if len(m.points) > 10 {
			assert.LessOrEqual(t, len(m.points), mostPoints+2)
			assert.InDelta(t, 46, m.points[0].x, 1e-9)
			assert.InDelta(t, 46+212*9999/12000.0, m.points[len(m.points)-1].x, 1e-9, "the scale ends at 200 minutes")
			return
		}
	}
	t.Fatal("no curve")
}

// The dashed line goes through the middle of the curve with the slope of the
// rate: over fifteen minutes at 1.24 kPa/min it falls 18.6 kPa.
func TestLeakPictureSlope(t *testing.T) {
	d := demoData()
	m := airTest(d)
	p := leakPicture(*m, m.Curve)
	var line []point
	for _, m := range p.marks {
		if len(m.ink.dash) > 0 && len(m.points) == 2 {
			line = m.points
		}
	}
	require.Len(t, line, 2)
	assert.InDelta(t, 46, line[0].x, 1e-9)
	assert.InDelta(t, 258, line[1].x, 1e-9)
	perKPa := (84 - 22) / 30.0 // the scale runs from 630 to 660
	assert.InDelta(t, 18.6*perKPa, line[1].y-line[0].y, 1e-6)
}

func TestAddTurn(t *testing.T) {
	j := &demoJob{}
	j.add("bench", record.FeatureRunoutFlange, 0, math.NaN(), 0.022, 0.002, "mm")
	d := Build(demoSheet(), j.captures, reportDate)
	require.Len(t, d.Measured, 1)
	m := &d.Measured[0]
	assert.InDelta(t, 0.022, m.Runout.FIM, 1e-12)
	assert.InDelta(t, 0.002, m.Runout.FIMU, 1e-12)
	assert.True(t, math.IsNaN(m.Runout.FIMIfReseated), "not known from the full movement")
	assert.Empty(t, pictures(compose(d)))

	turn := runout.Result{FIM: 0.5, FIMU: 0.5, FIMIfReseated: 0.004, H1: &analysis.Harmonic{Amplitude: 0.01, PhaseDeg: 114}}
	refused := turn
	refused.Refused = true
	m.AddTurn(refused)
	assert.Nil(t, m.Runout.H1, "a trace that cannot be read")
	m.AddTurn(turn)
	assert.InDelta(t, 0.022, m.Runout.FIM, 1e-12, "as captured")
	assert.InDelta(t, 0.01, m.Runout.H1.Amplitude, 1e-12)
	assert.Len(t, pictures(compose(d)), 1)
}
