package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// patterns stores both flanks of the set-up stage.
func patterns(t *testing.T, store *memory, drive, coast [2]float64) {
	t.Helper()
	for name, at := range map[string][2]float64{record.FeaturePatternDrive: drive, record.FeaturePatternCoast: coast} {
		keyed(t, store, record.StageSetUp, name, at[0], at[1])
	}
}

func patternSteps(store *memory) (drive, coast Step) {
	for _, s := range (Job{Sheet: sheet.Example(), Captures: store.all}).Steps() {
		switch {
		case s.Stage == record.StageSetUp && s.Feature == record.FeaturePatternDrive:
			drive = s
		case s.Stage == record.StageSetUp && s.Feature == record.FeaturePatternCoast:
			coast = s
		}
	}
	return drive, coast
}

func TestPatternThatSaysStopIsNotDone(t *testing.T) {
	store := &memory{}
	patterns(t, store, [2]float64{-0.6, 0.9}, [2]float64{0.6, -0.9}) // face on the drive, root on the coast flank
	a, ok := feature.ContactAdvice(sheet.Example(), store.all, record.StageSetUp)
	require.True(t, ok)
	require.True(t, a.Stop)
	drive, coast := patternSteps(store)
	assert.Equal(t, gum.Outside, drive.Verdict)
	assert.True(t, drive.Open())
	assert.True(t, coast.Open())
	assert.True(t, holdNamed(t, store, "set-up-pattern-drive").Blocking)
	assert.True(t, holdNamed(t, store, "set-up-pattern-coast").Blocking)
}

func TestCentralPatternIsAccepted(t *testing.T) {
	store := &memory{}
	patterns(t, store, [2]float64{0.1, 0.05}, [2]float64{-0.05, 0})
	drive, coast := patternSteps(store)
	assert.Equal(t, gum.Inside, drive.Verdict)
	assert.Equal(t, gum.Inside, coast.Verdict)
	assert.False(t, holdNamed(t, store, "set-up-pattern-drive").Blocking)
	assert.False(t, holdNamed(t, store, "set-up-pattern-coast").Blocking)
}

// A used set that prints at the toe as it was found to is not moved to where a
// textbook wants it; one that prints elsewhere is read by the textbook.
func TestUsedSetIsJudgedByItsOwnPrint(t *testing.T) {
	s, store := sheet.Example(), &memory{}
	keyed(t, store, record.StageAsFound, record.FeaturePatternDrive, -0.6, 0.4)
	keyed(t, store, record.StageAsFound, record.FeaturePatternCoast, -0.7, 0.4)
	patterns(t, store, [2]float64{-0.5, 0.5}, [2]float64{-0.6, 0.3})
	a, ok := feature.ContactAdvice(s, store.all, record.StageSetUp)
	require.True(t, ok)
	assert.Equal(t, setup.PatternAdvice{Accept: true, Seen: setup.SeenAsFound}, a)
	drive, _ := patternSteps(store)
	assert.Equal(t, gum.Inside, drive.Verdict)
	found, _ := feature.ContactAdvice(s, store.all, record.StageAsFound)
	assert.False(t, found.Accept, "the print as found is not compared with itself")

	s.GearSet.Used = false
	a, _ = feature.ContactAdvice(s, store.all, record.StageSetUp)
	assert.Equal(t, setup.SeenFaceLocked, a.Seen, "new gears go by the textbook")
	s.GearSet.Used = true
	patterns(t, store, [2]float64{-0.5, 0.7}, [2]float64{-0.6, 0.3})
	a, _ = feature.ContactAdvice(s, store.all, record.StageSetUp)
	assert.Equal(t, setup.SeenFaceLocked, a.Seen, "0.3 higher up than it was found")
}

// Both pattern steps exist as found, for a used set alone, and hold nothing up.
func TestPatternAsFoundIsOptional(t *testing.T) {
	s := sheet.Example()
	count := func() (n int) {
		for _, step := range (Job{Sheet: s}).Steps() {
			if step.Stage == record.StageAsFound && (step.Feature == record.FeaturePatternDrive || step.Feature == record.FeaturePatternCoast) {
				assert.True(t, step.Optional)
				n++
			}
		}
		return n
	}
	assert.Equal(t, 2, count())
	s.GearSet.Used = false
	assert.Zero(t, count())
}

func TestOneFlankAsksForTheOther(t *testing.T) {
	store := &memory{}
	_, coast := patternSteps(store)
	require.False(t, coast.Optional, "every axle has a pattern")
	keyed(t, store, record.StageSetUp, record.FeaturePatternDrive, 0)
	_, coast = patternSteps(store)
	assert.False(t, coast.Optional, "half of one asks, too")
	keyed(t, store, record.StageSetUp, record.FeaturePatternDrive, 0, 0)
	drive, coast := patternSteps(store)
	assert.False(t, coast.Optional)
	assert.Equal(t, gum.NotDecided, drive.Verdict)
}
