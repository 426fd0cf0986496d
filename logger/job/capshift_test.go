package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// TestSetUpAllowsForTheCaps: found at 0.165 mm under torque and at 0.185 with the
// caps snug, a used set is set to 0.185, for torquing them takes 0.020 again.
func TestSetUpAllowsForTheCaps(t *testing.T) {
	s, store := sheet.Example(), &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.165))
	o := OutcomeOf(s, store.all, record.StageAsFound, record.FeatureBacklash)
	assert.Contains(t, o.Next, "slacken the caps to snug and measure position 1 once more (backlash, caps snug)")
	fill(t, store, record.StageAsFound, record.FeatureSnug, steady(0.185))
	assert.Contains(t, OutcomeOf(s, store.all, record.StageAsFound, record.FeatureSnug).Advice, "changes the backlash by -0.020 ± 0.0")
	assert.Equal(t, gum.NotDecided, feature.Assess(s, store.all, record.StageAsFound, record.FeatureSnug).Verdict, "it has no window of its own")

	setUp(t, store, 0.30)
	o = OutcomeOf(s, store.all, record.StageSetUp, record.FeatureBacklash)
	require.NotNil(t, o.Move)
	assert.InDelta(t, 0.185, o.Move.Target, 1e-9)
	assert.True(t, o.Move.AimAsFound)
	assert.Contains(t, o.Advice, "Torquing the caps changes the backlash by -0.020")
	assert.Equal(t, gum.Outside, feature.Assess(s, store.all, record.StageSetUp, record.FeatureBacklash).Verdict)

	fill(t, store, record.StageCaps, record.FeatureCapBolts, steady(90))
	fill(t, store, record.StageCaps, record.FeatureBacklash, steady(0.30))
	a, err := AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 0.165, a.Target, 1e-9, "with the caps torqued nothing is to be allowed for")
}

// TestCapShiftNotBelieved: what torquing caps does not do, and what was read in
// another way, moves no aim.
func TestCapShiftNotBelieved(t *testing.T) {
	s, store := sheet.Example(), &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.165))
	aim := func() float64 {
		setUp(t, store, 0.30)
		a, err := AdviseMove(s, store.all)
		require.NoError(t, err)
		return a.Target
	}
	assert.InDelta(t, 0.165, aim(), 1e-9)

	fill(t, store, record.StageAsFound, record.FeatureSnug, steady(0.225))
	assert.InDelta(t, 0.165, aim(), 1e-9)
	assert.Contains(t, OutcomeOf(s, store.all, record.StageSetUp, record.FeatureBacklash).Advice, "-0.060 ± 0.006 mm, which is not believed")

	for i, c := range store.all {
		if c.Feature == record.FeatureSnug {
			store.all[i].Value, store.all[i].RadiusMM = 0.185, 50
		}
	}
	s.Plunger.ContactRadius, s.Plunger.HeelRadius = 0, 0
	_, _, ok := Job{Sheet: s, Captures: store.all}.capShift()
	assert.False(t, ok)
}
