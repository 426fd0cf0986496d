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

func demoCircle(torques ...float64) BoltCircle {
	c := BoltCircle{List: sheet.BoltList{Target: 100}}
	c.Feature, c.Format, c.Spec.Limits = record.FeatureWheelBolts, Format{"N·m", 1}, gum.Limits{Lower: 96, Upper: 104}
	for i, v := range torques {
		b := Bolt{Number: i + 1}
		b.Capture.Value = v
		if !math.IsNaN(v) {
			b.Verdict = gum.Judge(v, 0, c.Spec.Limits).Verdict
		}
		c.Bolts = append(c.Bolts, b)
	}
	return c
}

// Each torque stands with its verdict and what it is off the target, in rows that fit.
func TestBoltRows(t *testing.T) {
	rows := boltRows(demoCircle(102, 98, 120, 60, math.NaN()))
	require.Len(t, rows, 1)
	table := rows[0][0].Table
	var torques, off []string
	for k, e := range table.Rows[0][1:] {
		assert.True(t, e.Judged)
		torques, off = append(torques, e.Text), append(off, table.Rows[1][k+1].Text)
	}
	assert.Equal(t, []string{"102.0", "98.0", "120.0", "60.0", "–"}, torques)
	assert.Equal(t, []string{"+2.0", "−2.0", "+20.0", "−40.0", "–"}, off)
	assert.Contains(t, rows[0][0].Lines, "Crown wheel bolts: 4 of 5 bolts, 60.0 to 120.0 N·m; target 100.0, 96.0 to 104.0.")
	many := boltRows(demoCircle(make([]float64, 30)...))
	require.Len(t, many, 3)
	assert.Equal(t, "continued", many[2][0].Table.Caption)
	assert.Len(t, many[2][0].Table.Columns, 7)
	assert.Empty(t, many[0][0].Lines)
}

func TestBoltNotes(t *testing.T) {
	c := demoCircle(100, math.NaN())
	c.List.LeftHand, c.List.ThreadLocker = true, true
	assert.Equal(t, []string{
		"Crown wheel bolts: 1 of 2 bolts, 100.0 to 100.0 N·m; target 100.0, 96.0 to 104.0.",
		"Left-hand threads.", "Thread-locker: no re-strike once it has set.", "Bolt 2: no torque on record.",
	}, boltNotes(c))
}

func TestWhyTooClose(t *testing.T) {
	var m Measured
	m.Spec.Limits = gum.Limits{Lower: 94, Upper: 102}
	m.U = 2.5
	assert.Contains(t, m.whyTooClose(), "only a finer gauge can decide")
	m.U = 0.5
	assert.Contains(t, m.whyTooClose(), "a limit lies within the uncertainty")
}

// An uncertainty of nothing is one that nobody knows: it is never printed.
func TestNoDoubtOfNothing(t *testing.T) {
	c := demoCircle(100)
	c.Stage = record.StageFinal
	for u, want := range map[float64]string{0: "", 2: " ± 4.0"} {
		c.U = u
		assert.Equal(t, "Crown wheel bolts, final: final torque in tightening order, N·m"+want, boltRows(c)[0][0].Table.Caption)
		m := Move{Capture: record.Capture{Unit: "notch"}, Expected: 0.15, ExpectedU: 2 * u}
		assert.Equal(t, "0.150"+given(want != "", " ± 4.0"), moveTable(Data{Moves: []Move{m}}).Rows[0][6].Text)
		change := changeTable([]StageChange{{U: 2 * u}})
		assert.Equal(t, map[bool]string{true: "4.0", false: "–"}[u > 0], change.Rows[0][2].Text)
	}
}
