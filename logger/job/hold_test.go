package job

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestHoldPointsOpenInTurn(t *testing.T) {
	store := &memory{}
	for _, name := range []string{HoldAsFound, HoldFace, HoldRecheck, HoldAir} {
		h := holdNamed(t, store, name)
		assert.True(t, h.Blocking, name)
		assert.Contains(t, h.Reason, "Do not", name)
	}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.16))
	assert.False(t, holdNamed(t, store, HoldAsFound).Blocking)

	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, func(i int) float64 { return 0.1 * math.Cos(2*math.Pi*float64(i)/8) })
	h := holdNamed(t, store, HoldFace)
	assert.True(t, h.Blocking, "0.20 is beyond 0.08")
	assert.Contains(t, h.Reason, "beyond 0.080")
	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, func(i int) float64 { return 0.01 * float64(i%3) })
	assert.False(t, holdNamed(t, store, HoldFace).Blocking)

	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.30))
	assert.Contains(t, holdNamed(t, store, HoldRecheck).Reason, "outside the window")
	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.165))
	assert.False(t, holdNamed(t, store, HoldRecheck).Blocking)

	fill(t, store, record.StageFinal, record.FeatureLeakDown, steady(9))
	assert.Contains(t, holdNamed(t, store, HoldAir).Reason, "loses 9.00 kPa/min")
	put(t, store, record.StageFinal, record.FeatureLeakDown, 0, 0.4, 0.003)
	assert.False(t, holdNamed(t, store, HoldAir).Blocking)
}

func TestHoldPointOverridden(t *testing.T) {
	store := &memory{}
	_, err := record.AddOverride(store, record.StageAsFound, HoldAsFound, "", testTime)
	require.ErrorContains(t, err, "a reason is needed")
	assert.Empty(t, store.all)
	_, err = record.AddOverride(store, record.StageAsFound, HoldAsFound, "came in pieces", testTime)
	require.NoError(t, err)
	h := holdNamed(t, store, HoldAsFound)
	assert.False(t, h.Blocking)
	assert.Equal(t, "came in pieces", h.Overridden)
	assert.True(t, holdNamed(t, store, HoldFace).Blocking, "only the one named")
}

func TestJobInTradeOrder(t *testing.T) {
	store := &memory{}
	j := func() Job { return Job{Sheet: sheet.Example(), Captures: store.all} }
	step, ok := j().Next()
	require.True(t, ok)
	assert.Equal(t, record.StageAsFound, step.Stage)
	assert.Equal(t, record.FeatureBacklash, step.Feature)
	assert.Equal(t, "backlash, as-found", step.Title)

	var order []string
	for range 40 {
		step, ok := j().Next()
		if !ok {
			break
		}
		order = append(order, step.Stage+" "+step.Feature)
		values := map[string]float64{record.FeatureBacklash: 0.165, record.FeaturePreloadTotal: 2.1}
		fill(t, store, step.Stage, step.Feature, func(i int) float64 {
			list, isBolts := sheet.Example().BoltList(step.Feature)
			if isBolts {
				return list.TargetNm() * list.Passes()[min(i/list.Count, len(list.Passes())-1)]
			}
			return values[step.Feature]
		})
	}
	assert.Equal(t, []string{
		"as-found backlash",
		"bench runout-carrier-flange", "bench bolt-torque-crown-wheel", "bench runout-back-face",
		"set-up backlash",
		"caps-torqued bolt-torque-caps", "caps-torqued backlash", "caps-torqued preload-total",
		"final backlash", "final leak-down",
	}, order)
	assert.Contains(t, holdNamed(t, store, HoldAir).Reason, "uncertainty is not known")
	_, err := record.AddOverride(store, record.StageFinal, HoldAir, "read off a dial without a certificate", testTime)
	require.NoError(t, err)
	_, ok = j().Next()
	assert.False(t, ok)
	for _, s := range j().Steps() {
		assert.NotEmpty(t, s.Title)
		assert.True(t, s.Done || s.Optional, "%s", s.Title)
		assert.Empty(t, s.Hold, "%s", s.Title)
	}
}

func TestStepsShowWhatBlocksThem(t *testing.T) {
	for _, s := range (Job{Sheet: sheet.Example(), Captures: nil}).Steps() {
		var names []string
		for _, h := range s.Hold {
			names = append(names, h.Name)
		}
		switch {
		case s.Stage == record.StageAsFound:
			assert.Empty(t, names, s.Title)
		case s.Stage == record.StageSetUp:
			assert.Equal(t, []string{HoldAsFound, HoldFace}, names, s.Title)
		case s.Feature == record.FeatureOilFill:
			assert.Equal(t, []string{HoldAsFound, HoldRecheck, HoldAir}, names, s.Title)
		default:
			assert.Equal(t, []string{HoldAsFound}, names, s.Title)
		}
	}
}

// TestAsFoundIsNotMeasuredLate: once something later stands, what would be
// measured as found is no longer how the axle was found.
func TestAsFoundIsNotMeasuredLate(t *testing.T) {
	store := &memory{}
	j := func() Job { return Job{Sheet: sheet.Example(), Captures: store.all} }
	keyed(t, store, record.StageAsFound, record.FeatureBacklash, 0.16)
	next, ok := j().Next()
	require.True(t, ok)
	assert.Equal(t, record.StageAsFound, next.Stage, "half measured, nothing changed: go on with it")

	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, steady(0.01))
	next, ok = j().Next()
	require.True(t, ok)
	assert.Equal(t, record.StageBench, next.Stage)
	require.Len(t, next.Hold, 1)
	assert.Contains(t, next.Hold[0].Reason, "cannot be any more")
	assert.Contains(t, next.Hold[0].Reason, "override")
	for _, s := range j().Steps() {
		assert.Equal(t, s.Stage == record.StageAsFound, s.Missed, s.Title)
		assert.False(t, s.Missed && s.Open(), s.Title)
	}

	_, err := record.AddOverride(store, record.StageBench, HoldAsFound, "came in pieces", testTime)
	require.NoError(t, err)
	next, _ = j().Next()
	assert.Empty(t, next.Hold)

	moved := &memory{}
	_, err = record.AddMove(moved, record.StageAsFound, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	next, _ = Job{Sheet: sheet.Example(), Captures: moved.all}.Next()
	assert.Equal(t, record.StageBench, next.Stage, "moved adjusters end how it was found")
}

func TestStagesOfTheSheet(t *testing.T) {
	s := sheet.Example()
	s.Stages = []string{"as-found", "after-road-test"}
	var got []string
	for _, step := range (Job{Sheet: s, Captures: nil}).Steps() {
		got = append(got, fmt.Sprint(step.Stage, " ", step.Feature))
	}
	assert.Equal(t, []string{"as-found preload-total", "as-found backlash", "as-found runout-back-face", "after-road-test backlash"}, got)
	for _, h := range HoldPoints(s, nil) {
		if h.Name != HoldAsFound && h.Name != HoldAir {
			assert.False(t, h.Blocking, "%s cannot hold a job without its stage", h.Name)
		}
	}
}

func TestStepThatIsOutsideStaysOpen(t *testing.T) {
	store := &memory{}
	step := func(stage, name string) Step {
		for _, s := range (Job{Sheet: sheet.Example(), Captures: store.all}).Steps() {
			if s.Stage == stage && s.Feature == name {
				return s
			}
		}
		t.Fatalf("no step %s %s", stage, name)
		return Step{}
	}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.30))
	found := step(record.StageAsFound, record.FeatureBacklash)
	assert.Equal(t, gum.Outside, found.Verdict)
	assert.False(t, found.Open(), "how it was found needs no mending")

	fill(t, store, record.StageBench, record.FeatureRunoutBackFace, func(i int) float64 { return 0.1 * math.Cos(2*math.Pi*float64(i)/8) })
	face := step(record.StageBench, record.FeatureRunoutBackFace)
	assert.True(t, face.Done)
	assert.Equal(t, gum.Outside, face.Verdict)
	assert.True(t, face.Open())

	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.165))
	assert.False(t, step(record.StageFinal, record.FeatureBacklash).Open())
	next, ok := Job{Sheet: sheet.Example(), Captures: store.all}.Next()
	require.True(t, ok)
	assert.False(t, next.Done, "a step before it comes first")
}

// TestHoldsWhatIsNotProvenInside: too close to call is no leave to go on.
func TestHoldsWhatIsNotProvenInside(t *testing.T) {
	store := &memory{}
	add := func(stage, name string, position int, value, u float64) {
		t.Helper()
		put(t, store, stage, name, position, value, u)
	}
	backlash := func(value, u float64) {
		for p := 1; p <= 8; p++ {
			add(record.StageFinal, record.FeatureBacklash, p, value, u)
		}
	}
	reason := func(name string) string {
		h := holdNamed(t, store, name)
		if h.Blocking {
			return h.Reason
		}
		return ""
	}

	add(record.StageFinal, record.FeatureLeakDown, 0, 3.02, 0.1) // against 3.00
	assert.Equal(t, "Do not close up yet: the air line loses 3.02 kPa/min, which is too close to call.", reason(HoldAir))
	add(record.StageFinal, record.FeatureLeakDown, 0, 3.4, 3)
	assert.Contains(t, reason(HoldAir), "too close to call")
	add(record.StageFinal, record.FeatureLeakDown, 0, 1.4, math.NaN())
	assert.Contains(t, reason(HoldAir), "its uncertainty is not known")
	add(record.StageFinal, record.FeatureLeakDown, 0, 1.4, 0.1)
	assert.Empty(t, reason(HoldAir))

	add(record.StageBench, record.FeatureRunoutBackFace, 0, 0.079, 0.002) // one turn, against 0.08
	assert.Equal(t, "Do not set the backlash yet: the back face runs out 0.079 mm, which is too close to call.", reason(HoldFace))
	add(record.StageBench, record.FeatureRunoutBackFace, 0, 0.060, 0.002)
	assert.Empty(t, reason(HoldFace))

	backlash(0.198, 0.002) // window 0.13 to 0.20
	assert.Contains(t, reason(HoldRecheck), "not proven inside the window, which is too close to call")
	backlash(0.165, 0.030)
	assert.Contains(t, reason(HoldRecheck), "the gauge is too coarse for this window")
	_, err := record.AddOverride(store, record.StageFinal, HoldRecheck, "no finer gauge in the shop", testTime)
	require.NoError(t, err)
	assert.Empty(t, reason(HoldRecheck), "a coarse gauge does not lock the job")
}
