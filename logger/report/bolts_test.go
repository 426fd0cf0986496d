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

// Bars are as long as the torque is off the target; one off the field ends at
// its edge in an arrow and has its figure written.
func TestBoltPicture(t *testing.T) {
	p := boltPicture(demoCircle(102, 98, 120, 60, math.NaN()))
	var heights []float64
	arrows := 0
	for _, m := range p.marks {
		if len(m.points) == 4 && m.ink.fill != "" && m.ink.fill != colourBand && m.ink.stroke == "" {
			heights = append(heights, math.Abs(m.points[2].y-m.points[0].y))
		}
		if len(m.points) == 3 && m.ink.stroke == "" {
			arrows++
		}
	}
	require.Len(t, heights, 4)
	assert.InDelta(t, heights[0], heights[1], 1e-9, "2 over as long as 2 under")
	assert.InDelta(t, 3.2, heights[2]/heights[0], 1e-9, "held at 1.6 tolerances")
	assert.InDelta(t, heights[2], heights[3], 1e-9)
	assert.Equal(t, 2, arrows)
	texts := drawingTexts(p)
	assert.Contains(t, texts, "120.0")
	assert.Contains(t, texts, "60.0")
	assert.NotContains(t, texts, "102.0")
	assert.Equal(t, "4 of 5 bolts, 60.0 to 120.0 N·m; target 100.0, 96.0 to 104.0.", p.desc)
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
	for u, want := range map[float64]string{0: "", 2: ", ± 4.0"} {
		c.U = u
		assert.Equal(t, "Crown wheel bolts: final torque, N·m"+want, boltTables(c)[0].Table.Caption)
		m := Move{Capture: record.Capture{Unit: "notch"}, Expected: 0.15, ExpectedU: 2 * u}
		assert.Equal(t, "0.150"+given(want != "", " ± 4.0"), moveTable(Data{Moves: []Move{m}}).Rows[0][6].Text)
		change := changeTable([]StageChange{{U: 2 * u}})
		assert.Equal(t, map[bool]string{true: "4.0", false: "–"}[u > 0], change.Rows[0][2].Text)
	}
}
