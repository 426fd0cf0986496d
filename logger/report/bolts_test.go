package report

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// circleOf is a job of one pass of such torques; NaN: not pulled.
func circleOf(torques ...float64) Data {
	s, j := demoSheet(), &demoJob{}
	s.Bolts = []sheet.BoltList{{Feature: record.FeatureWheelBolts, Count: len(torques), Target: 100, TolerancePct: 4, PassesPct: []int{100}}}
	for i, v := range torques {
		s.Bolts[0].Sequence = append(s.Bolts[0].Sequence, i+1)
		if !math.IsNaN(v) {
			j.add(record.StageFinal, record.FeatureWheelBolts, i+1, 0, v, 0.5, "N·m")
		}
	}
	return Build(s, j.captures, reportDate)
}

// Each torque stands with its verdict, in rows that fit, with what matters later
// below.
func TestBoltRows(t *testing.T) {
	rows := boltSection(circleOf(102, 98, 120, 60, math.NaN())).Rows
	require.Len(t, rows, 2)
	var torques []string
	for _, e := range rows[0][0].Table.Rows[0][1:] {
		assert.True(t, e.Judged)
		torques = append(torques, e.Text+" "+string(e.Verdict))
	}
	assert.Equal(t, []string{"102.0 inside", "98.0 inside", "120.0 outside", "60.0 outside", "– "}, torques)
	assert.Equal(t, []string{"Crown wheel bolts: 4 of 5, 60.0 to 120.0; target 100.0, 96.0 to 104.0 N·m.", "Bolt 5: no torque on record."}, rows[1][0].Lines)
	many := make([]float64, 30)
	for i := range many {
		many[i] = 100
	}
	rows = boltSection(circleOf(many...)).Rows
	require.Len(t, rows, 4)
	assert.Equal(t, "continued", rows[2][0].Table.Caption)
	assert.Len(t, rows[2][0].Table.Columns, 7)
}

func TestBoltNotes(t *testing.T) {
	d := circleOf(100, math.NaN())
	d.Sheet.Bolts[0].LeftHand, d.Sheet.Bolts[0].ThreadLocker = true, true
	rows := boltSection(d).Rows
	assert.Equal(t, []string{
		"Crown wheel bolts: 1 of 2, 100.0 to 100.0; target 100.0, 96.0 to 104.0 N·m.",
		"Left-hand threads.", "Thread-locker: no re-strike once it has set.", "Bolt 2: no torque on record.",
	}, rows[len(rows)-1][0].Lines)
}

func TestWhyTooClose(t *testing.T) {
	var m Measured
	m.Verdict, m.Spec.Limits = gum.TooClose, gum.Limits{Lower: 94, Upper: 102}
	m.U = 2.5
	assert.Contains(t, m.why(), "only a finer gauge can")
	m.U = 0.5
	assert.Contains(t, m.why(), "the uncertainty reaches over a limit")
}

// An uncertainty of nothing is one that nobody knows: it is never printed.
func TestNoDoubtOfNothing(t *testing.T) {
	for u, want := range map[float64]string{0: "", 2: " ± 4.0"} {
		d := circleOf(100)
		d.Measured[0].U = u
		assert.Equal(t, "Crown wheel bolts, final: final torque in tightening order, N·m"+want, boltSection(d).Rows[0][0].Table.Caption)
		m := Move{Capture: record.Capture{Unit: "notch"}, Expected: 0.15, ExpectedU: 2 * u}
		assert.Equal(t, "0.150"+given(want != "", " ± 4.0"), moveTable(Data{Moves: []Move{m}}).Rows[0][6].Text)
		change := changeTable([]StageChange{{U: 2 * u}})
		assert.Equal(t, map[bool]string{true: "4.0", false: "–"}[u > 0], change.Rows[0][2].Text)
	}
}
