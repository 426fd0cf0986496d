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
