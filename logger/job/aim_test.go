package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// holdOf finds a hold point by name; false without one.
func holdOf(s sheet.Sheet, store *memory, name string) (HoldPoint, bool) {
	for _, h := range HoldPoints(s, store.all) {
		if h.Name == name {
			return h, true
		}
	}
	return HoldPoint{}, false
}

// A used set found at 0.23 mm where the window is 0.13 to 0.20: what it goes
// back to is asked, and nothing is aimed at in silence.
func TestFoundBeyondTheWindowAsksForAnAim(t *testing.T) {
	s, store := sheet.Example(), &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.23))
	h, ok := holdOf(s, store, HoldAim)
	require.True(t, ok)
	assert.True(t, h.Blocking)
	assert.Contains(t, h.Reason, "as found it is 0.230 mm on average, beyond the entered window")
	step := Job{Sheet: s, Captures: store.all}.Step(record.StageSetUp, record.FeatureBacklash, HoldPoints(s, store.all))
	assert.Contains(t, step.Hold, h)

	setUp(t, store, 0.165) // a mean of 0.17
	s.GearSet.Aim = sheet.AimAsFound
	h, _ = holdOf(s, store, HoldAim)
	assert.False(t, h.Blocking)
	a, err := AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.True(t, a.Needed && a.AimAsFound)
	assert.InDelta(t, 0.23, a.Target, 1e-9)
	assert.InDelta(t, 0.23, a.Predicted, 0.04, "a notch is 0.07")

	setUp(t, store, 0.225)
	a, err = AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.Equal(t, setup.NearEnough, a.Outcome, "never called inside the window")
	assert.Equal(t, gum.Outside, feature.Assess(s, store.all, record.StageSetUp, record.FeatureBacklash).Verdict, "the judge keeps to the window")

	s.GearSet.Aim = sheet.AimWindow
	a, err = AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 0.165, a.Target, 1e-9)
	assert.False(t, a.AimAsFound)
}

// A reason decides for the window, and skips no measurement.
func TestAimDecidedByAReason(t *testing.T) {
	s, store := sheet.Example(), &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.23))
	_, err := record.AddOverride(store, record.StageSetUp, HoldAim, "light vehicle", testTime)
	require.NoError(t, err)
	h, ok := holdOf(s, store, HoldAim)
	require.True(t, ok)
	assert.Equal(t, []any{false, "", "decided for the window: light vehicle"}, []any{h.Blocking, h.Skipped, h.Reason})
	setUp(t, store, 0.23)
	a, err := AdviseMove(s, store.all)
	require.NoError(t, err)
	assert.InDelta(t, 0.165, a.Target, 1e-9)
}

// The last decision on record counts, the sheet's before it.
func TestAimDecidedOnRecord(t *testing.T) {
	s, store := sheet.Example(), &memory{}
	decide := func(aim, why string) error {
		_, err := Job{Sheet: s, Captures: store.all}.DecideAim(store, aim, why, testTime)
		return err
	}
	require.ErrorContains(t, decide(sheet.AimAsFound, "heavy axle"), "no aim to decide")
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.23))
	require.Error(t, decide(sheet.AimAsFound, "x"), "no reason")
	setUp(t, store, 0.165)
	for _, c := range []struct {
		aim, reason string
		target      float64
	}{
		{sheet.AimAsFound, "decided for the mean as found: heavy: an axle", 0.23},
		{sheet.AimWindow, "decided for the window: heavy: an axle", 0.165},
		{sheet.AimAsFound, "decided for the mean as found: heavy: an axle", 0.23},
	} {
		require.NoError(t, decide(c.aim, "heavy: an axle"))
		h, ok := holdOf(s, store, HoldAim)
		require.True(t, ok)
		assert.Equal(t, []any{false, "", c.reason}, []any{h.Blocking, h.Skipped, h.Reason})
		spec, o := Job{Sheet: s, Captures: store.all}.aim(feature.Assess(s, store.all, record.StageSetUp, record.FeatureBacklash).Spec)
		assert.Equal(t, c.aim == sheet.AimAsFound, o.Beyond)
		assert.InDelta(t, c.target, (spec.Limits.Lower+spec.Limits.Upper)/2, 1e-9)
	}
	_, err := record.AddOverride(store, record.StageSetUp, HoldAim, "as-found: too much of it", testTime)
	require.NoError(t, err)
	_, o := Job{Sheet: s, Captures: store.all}.aim(analysis.RoundSpec{})
	assert.False(t, o.Beyond, "a reason to skip is for the window, whatever its words")
	s.GearSet.Aim = sheet.AimAsFound
	require.ErrorContains(t, decide(sheet.AimWindow, "light vehicle"), "stands in job.toml")
}

// Where nothing is to be decided nothing is asked.
func TestAimIsNotAsked(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.15))
	_, asked := holdOf(sheet.Example(), store, HoldAim)
	assert.False(t, asked, "found inside")
	store = &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.23))
	s := sheet.Example()
	s.GearSet.Used = false
	_, asked = holdOf(s, store, HoldAim)
	assert.False(t, asked, "new gears go by the window")
}
