package job

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

func TestHoldPointOverridden(t *testing.T) {
	store := &memory{}
	_, err := record.AddOverride(store, record.StageAsFound, HoldAsFound, "", testTime)
	require.ErrorContains(t, err, "is no reason")
	assert.Empty(t, store.all)
	_, err = record.AddOverride(store, record.StageAsFound, HoldAsFound, "came in pieces", testTime)
	require.NoError(t, err)
	h := holdNamed(t, store, HoldAsFound)
	assert.False(t, h.Blocking)
	assert.Equal(t, "came in pieces", h.Skipped)
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
		"fit-up runout-carrier-flange", "fit-up runout-back-face", "bench bolt-torque-crown-wheel", "bench runout-back-face",
		"set-up backlash", "set-up pattern-drive", "set-up pattern-coast",
		"caps-torqued bolt-torque-caps", "caps-torqued backlash", "caps-torqued preload-total",
		"final backlash", "final leak-down", "final engagement", "final close-up",
	}, order)
	assert.Contains(t, holdNamed(t, store, HoldAir).Reason, "uncertainty unknown")
	_, err := record.AddOverride(store, record.StageFinal, HoldAir, "read off a dial without a certificate", testTime)
	require.NoError(t, err)
	_, ok = j().Next()
	assert.False(t, ok)
	for _, s := range j().Steps() {
		assert.NotEmpty(t, s.Title)
		assert.True(t, s.Complete || s.Optional, "%s", s.Title)
		assert.Empty(t, s.Hold, "%s", s.Title)
	}
}

func TestStepsShowWhatBlocksThem(t *testing.T) {
	closing := []string{
		HoldAsFound, "fit-up-runout-carrier-flange", "bench-bolt-torque-crown-wheel", HoldFace,
		"set-up-pattern-drive", "set-up-pattern-coast",
		"caps-torqued-bolt-torque-caps", "caps-torqued-backlash", "caps-torqued-preload-total",
		HoldRecheck, HoldAir, "final-engagement",
	}
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
		case s.Feature == record.FeatureWheelBolts:
			assert.Equal(t, []string{HoldAsFound, "fit-up-runout-back-face"}, names, s.Title)
		case s.Feature == record.FeatureCloseUp:
			assert.Equal(t, closing, names, s.Title)
		case s.Feature == record.FeatureOilFill:
			assert.Equal(t, append(closing, "final-close-up"), names, s.Title)
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
	assert.Equal(t, record.StageFitUp, next.Stage)
	require.Len(t, next.Hold, 1)
	assert.Contains(t, next.Hold[0].Reason, "cannot be any more")
	assert.Contains(t, next.Hold[0].Reason, "with a reason")
	for _, s := range j().Steps() {
		assert.Equal(t, s.Stage == record.StageAsFound, s.Missed, s.Title)
		assert.False(t, s.Missed && s.Open(), s.Title)
	}

	_, err := record.AddOverride(store, record.StageBench, HoldAsFound, "came in pieces", testTime)
	require.NoError(t, err)
	next, _ = j().Next()
	assert.Empty(t, next.Hold)

	moved := &memory{}
	_, err = record.AddMove(moved, record.StageSetUp, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	next, _ = Job{Sheet: sheet.Example(), Captures: moved.all}.Next()
	assert.Equal(t, record.StageFitUp, next.Stage, "moved adjusters end how it was found")
}

func TestStagesOfTheSheet(t *testing.T) {
	s := sheet.Example()
	s.Stages = []string{"as-found", "after-road-test"}
	var got []string
	for _, step := range (Job{Sheet: s, Captures: nil}).Steps() {
		got = append(got, fmt.Sprint(step.Stage, " ", step.Feature))
	}
	assert.Equal(t, []string{"as-found preload-total", "as-found backlash", "as-found runout-back-face", "as-found pattern-drive", "as-found pattern-coast", "as-found backlash-caps-snug", "after-road-test backlash"}, got)
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
	assert.True(t, face.Complete)
	assert.Equal(t, gum.Outside, face.Verdict)
	assert.True(t, face.Open())

	fill(t, store, record.StageFinal, record.FeatureBacklash, steady(0.165))
	assert.False(t, step(record.StageFinal, record.FeatureBacklash).Open())
	next, ok := Job{Sheet: sheet.Example(), Captures: store.all}.Next()
	require.True(t, ok)
	assert.False(t, next.Complete, "a step before it comes first")
}

// tilt is a back face that runs out by so much in all.
func tilt(fim float64) func(int) float64 { return onceAround(fim/2, 0, 0) }

// TestHoldPoints: what each hold says. The windows are the example's: backlash
// 0.13 to 0.20 mm, back face up to 0.08 mm, leak up to 3 kPa/min; with u = 0.002 mm
// or 0.1 kPa/min a value proves itself from 0.0033 or 0.165 away from a limit.
func TestHoldPoints(t *testing.T) {
	const backlash, face, leak = record.FeatureBacklash, record.FeatureRunoutBackFace, record.FeatureLeakDown
	final := func(value, u float64) func(*testing.T, *memory) {
		return func(t *testing.T, m *memory) {
			t.Helper()
			for p := 1; p <= 8; p++ {
				put(t, m, record.StageFinal, backlash, p, value, u)
			}
		}
	}
	filled := func(stage, name string, value func(int) float64) func(*testing.T, *memory) {
		return func(t *testing.T, m *memory) { t.Helper(); fill(t, m, stage, name, value) }
	}
	firstOf := func(stage, name string, values ...float64) func(*testing.T, *memory) {
		return func(t *testing.T, m *memory) { t.Helper(); keyed(t, m, stage, name, values...) }
	}
	one := func(stage, name string, value, u float64) func(*testing.T, *memory) {
		return func(t *testing.T, m *memory) { t.Helper(); put(t, m, stage, name, 0, value, u) }
	}
	pattern := func(stage string, drive, coast [2]float64) func(*testing.T, *memory) {
		return func(t *testing.T, m *memory) {
			t.Helper()
			keyed(t, m, stage, record.FeaturePatternDrive, drive[:]...)
			keyed(t, m, stage, record.FeaturePatternCoast, coast[:]...)
		}
	}
	advice := setup.ContactAdvice(setup.Contact{Along: -0.6, Up: 0.9}, setup.Contact{Along: 0.6, Up: -0.9}, "tapered", false)
	require.True(t, advice.Stop)
	noWindows := func(s *sheet.Sheet) { s.Windows = nil }
	open := func(s *sheet.Sheet) { // windows without a limit in them
		for i := range s.Windows {
			s.Windows[i].Lower, s.Windows[i].Upper, s.Windows[i].MaxSpread = nil, nil, nil
		}
	}
	stages := func(list ...string) func(s *sheet.Sheet) { return func(s *sheet.Sheet) { s.Stages = list } }
	tests := []struct {
		name, hold string
		captures   func(*testing.T, *memory)
		change     func(s *sheet.Sheet)
		want       string // "": no such hold point
	}{
		{"nothing found", HoldAsFound, nil, nil, "Do not strip yet: the as-found backlash is not measured all round."},
		{"found in part", HoldAsFound, firstOf(record.StageAsFound, backlash, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16), nil, "Do not strip yet: the as-found backlash is not measured all round."},
		{"found, whatever it is", HoldAsFound, filled(record.StageAsFound, backlash, steady(0.30)), nil, "cleared"},
		{"too late to be found", HoldAsFound, one(record.StageFinal, leak, 1.4, 0.1), nil,
			"The as-found backlash was not measured all round, and cannot be any more: a later stage has begun. Skip it with a reason that says why."},
		{"nothing is found by this sheet", HoldAsFound, nil, stages(record.StageFinal), "cleared"},

		{"no face", HoldFace, nil, nil, "Do not set the backlash yet: run-out of the back face, bench: not measured."},
		{"one place of the face", HoldFace, firstOf(record.StageBench, face, 0), nil, "Do not set the backlash yet: run-out of the back face, bench: not measured: positions 2, 3, 4, 5, 6, 7 and 8."},
		{"seven places of the face", HoldFace, firstOf(record.StageBench, face, 0, 0, 0, 0, 0, 0, 0), nil, "Do not set the backlash yet: run-out of the back face, bench: not measured: position 8."},
		{"a face of another stage", HoldFace, filled(record.StageAsFound, face, tilt(0.02)), nil, "Do not set the backlash yet: run-out of the back face, bench: not measured."},
		{"face outside before it is whole", HoldFace, firstOf(record.StageBench, face, 0, 0.029, 0.100, 0.171, 0.200, 0.171, 0.100), nil,
			"Do not set the backlash yet: run-out of the back face, bench: 0.200 mm is outside the entered window."},
		{"face outside", HoldFace, filled(record.StageBench, face, tilt(0.20)), nil, "Do not set the backlash yet: run-out of the back face, bench: 0.200 mm is outside the entered window."},
		{"face inside", HoldFace, filled(record.StageBench, face, tilt(0.02)), nil, "cleared"},
		{"face too close", HoldFace, one(record.StageBench, face, 0.079, 0.002), nil, "Do not set the backlash yet: run-out of the back face, bench: not proven inside the window, which is too close to call."},
		{"face of unknown uncertainty", HoldFace, one(record.StageBench, face, 0.05, math.NaN()), nil,
			"Do not set the backlash yet: run-out of the back face, bench: not decided, full indicator movement 0.050 mm as read inside, uncertainty unknown."},
		{"a place of the face in doubt", HoldFace, firstOf(record.StageBench, face, 0, 0.004, 0.006, 0.002, 0.001, 0.003, 0.005, 0.150), nil,
			"Do not set the backlash yet: run-out of the back face, bench: not decided, full indicator movement 0.150 mm as read; measure position 8 again."},
		{"face without a limit", HoldFace, filled(record.StageBench, face, tilt(0.20)), open, "cleared"},
		{"face without a limit, not measured", HoldFace, nil, open, "Do not set the backlash yet: run-out of the back face, bench: not measured."},
		{"face not asked for", HoldFace, nil, noWindows, ""},
		{"no bench", HoldFace, nil, stages(record.StageAsFound, record.StageFinal), ""},

		{"not re-checked", HoldRecheck, filled(record.StageCaps, backlash, steady(0.165)), nil,
			"Do not close up yet: backlash, final: not measured."},
		{"re-checked in part", HoldRecheck, firstOf(record.StageFinal, backlash, 0.165, 0.165), nil,
			"Do not close up yet: backlash, final: not measured: positions 3, 4, 5, 6, 7 and 8."},
		{"outside before all is re-checked", HoldRecheck, firstOf(record.StageFinal, backlash, 0.30), nil, "Do not close up yet: backlash, final: position 1: outside; not measured: positions 2, 3, 4, 5, 6, 7 and 8."},
		{"re-checked inside", HoldRecheck, final(0.165, 0.002), nil, "cleared"},
		{"re-checked outside", HoldRecheck, final(0.30, 0.002), nil, "Do not close up yet: backlash, final: positions 1, 2, 3, 4, 5, 6, 7 and 8: outside."},
		{"re-checked too close", HoldRecheck, final(0.198, 0.002), nil,
			"Do not close up yet: backlash, final: not proven inside the window, which is too close to call. Position 1 lies on the limit: no reading decides it, moving the adjusters does."},
		{"re-checked by a coarse gauge", HoldRecheck, final(0.165, 0.030), nil,
			"Do not close up yet: backlash, final: not proven inside the window, which is too close to call. No reading with this gauge proves it inside: only a finer gauge can."},
		{"re-checked with unknown uncertainty", HoldRecheck, final(0.165, math.NaN()), nil,
			"Do not close up yet: backlash, final: not decided, as read inside, uncertainty unknown."},
		{"re-checked, no window", HoldRecheck, final(0.165, 0.002), noWindows, "cleared"},
		{"re-checked after the caps where that is the last stage", "caps-torqued-backlash", filled(record.StageCaps, backlash, steady(0.165)), stages(record.StageAsFound, record.StageCaps), "cleared"},
		{"no stage to re-check in", HoldRecheck, nil, stages(record.StageAsFound), ""},
		{"pattern says stop", "set-up-pattern-drive", pattern(record.StageSetUp, [2]float64{-0.6, 0.9}, [2]float64{0.6, -0.9}), nil,
			"Do not close up yet: contact pattern, drive flank, set-up: " + words.Contact(advice)},
		{"a later pattern is good", "set-up-pattern-drive", func(t *testing.T, m *memory) {
			t.Helper()
			pattern(record.StageSetUp, [2]float64{-0.6, 0.9}, [2]float64{0.6, -0.9})(t, m)
			pattern(record.StageSetUp, [2]float64{0.1, 0}, [2]float64{0.1, 0})(t, m)
			final(0.165, 0.002)(t, m)
		}, nil, "cleared"},

		{"no air test", HoldAir, nil, nil, "Do not close up yet: air test, final: not measured."},
		{"a backlash is no air test", HoldAir, final(0.165, 0.002), nil, "Do not close up yet: air test, final: not measured."},
		{"leaks", HoldAir, one(record.StageFinal, leak, 9, 0.1), nil, "Do not close up yet: air test, final: 9.00 kPa/min is outside the entered window."},
		{"tight", HoldAir, one(record.StageFinal, leak, 1.4, 0.1), nil, "cleared"},
		{"tight, before the end", HoldAir, one(record.StageCaps, leak, 1.4, 0.1), nil, "Do not close up yet: air test, final: not measured."},
		{"the old lock, as found", HoldAir, one(record.StageAsFound, leak, 1.4, 0.1), nil, "Do not close up yet: air test, final: not measured."},
		{"tight, then a backlash", HoldAir, func(t *testing.T, m *memory) {
			t.Helper()
			one(record.StageFinal, leak, 1.4, 0.1)(t, m)
			final(0.30, 0.002)(t, m)
		}, nil, "cleared"},
		{"leak too close", HoldAir, one(record.StageFinal, leak, 3.02, 0.1), nil, "Do not close up yet: air test, final: not proven inside the window, which is too close to call."},
		{"leak of unknown uncertainty", HoldAir, one(record.StageFinal, leak, 1.4, math.NaN()), nil,
			"Do not close up yet: air test, final: not decided, as read inside, uncertainty unknown."},
		{"leak of no uncertainty", HoldAir, one(record.StageFinal, leak, 1.4, 0), nil,
			"Do not close up yet: air test, final: not decided, as read inside, uncertainty unknown."},
		{"leak without a limit", HoldAir, one(record.StageFinal, leak, 9, 0.1), open, "cleared"},
		{"air not asked for", HoldAir, nil, func(s *sheet.Sheet) { s.Windows, s.LeakDown, s.Engagement = nil, sheet.LeakDown{}, sheet.Engagement{} }, ""},
		{"no window for the air", HoldAir, nil, noWindows, "Do not close up yet: air test, final: not measured."},
	}
	before := map[string]string{HoldAsFound: "the strip", HoldFace: "setting the backlash", HoldRecheck: "closing up", HoldAir: "closing up", "set-up-pattern-drive": "closing up", "caps-torqued-backlash": "closing up"}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s, m := sheet.Example(), &memory{}
			if tt.change != nil {
				tt.change(&s)
			}
			if tt.captures != nil {
				tt.captures(t, m)
			}
			points := HoldPoints(s, m.all)
			i := slices.IndexFunc(points, func(h HoldPoint) bool { return h.Name == tt.hold })
			if tt.want == "" {
				assert.Equal(t, -1, i)
				return
			}
			require.GreaterOrEqual(t, i, 0)
			got := points[i]
			assert.Equal(t, []any{before[tt.hold], tt.want, tt.want != "cleared", ""}, []any{got.Before, got.Reason, got.Blocking, got.Skipped})
		})
	}
}

// TestOverrideOpensACoarseGaugesHold: a gauge that can prove nothing does not
// lock the job.
func TestOverrideOpensACoarseGaugesHold(t *testing.T) {
	m := &memory{}
	for p := 1; p <= 8; p++ {
		put(t, m, record.StageFinal, record.FeatureBacklash, p, 0.165, 0.030)
	}
	require.True(t, holdNamed(t, m, HoldRecheck).Blocking)
	_, err := record.AddOverride(m, record.StageFinal, HoldRecheck, "no finer gauge in the shop", testTime)
	require.NoError(t, err)
	assert.False(t, holdNamed(t, m, HoldRecheck).Blocking)
	note, err := record.AddNote(m, record.StageFinal, "no more", testTime)
	require.NoError(t, err)
	m.all[note.ID-1].Hold = HoldAir
	assert.True(t, holdNamed(t, m, HoldAir).Blocking, "a note passes nothing")
}

func TestWhereTheJobIs(t *testing.T) {
	m := &memory{}
	at := func() string { return Job{Sheet: sheet.Example(), Captures: m.all}.At() }
	assert.Equal(t, record.StageAsFound, at(), "nothing measured")
	put(t, m, record.StageBench, record.FeatureRunoutBackFace, 0, 0.02, 0.002)
	assert.Equal(t, record.StageBench, at())
	put(t, m, "elsewhere", record.FeatureBacklash, 1, 0.16, 0.002)
	assert.Equal(t, record.StageBench, at(), "no stage of the sheet")
	_, err := record.AddNote(m, record.StageFinal, "a note is no measurement", testTime)
	require.NoError(t, err)
	assert.Equal(t, record.StageBench, at())
	_, err = record.Reject(m, 1, testTime)
	require.NoError(t, err)
	assert.Equal(t, record.StageAsFound, at(), "taken back")
}

func TestEmptyJobHasNothingMissed(t *testing.T) {
	for _, s := range (Job{Sheet: sheet.Example()}).Steps() {
		assert.False(t, s.Missed, s.Title)
		assert.True(t, s.Open(), s.Title)
	}
	m := &memory{}
	_, err := record.AddNote(m, record.StageFinal, "a note changes nothing", testTime)
	require.NoError(t, err)
	put(t, m, record.StageAsFound, record.FeaturePreloadTotal, 0, 2, 0.1)
	for _, s := range (Job{Sheet: sheet.Example(), Captures: m.all}).Steps() {
		assert.False(t, s.Missed, s.Title)
	}
}
