package job

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

func TestReject(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.16))
	override, err := record.AddOverride(store, record.StageBench, HoldFace, "of a wrong job", testTime)
	require.NoError(t, err)
	note, err := record.AddNote(store, record.StageBench, "wrong job too", testTime)
	require.NoError(t, err)
	require.Equal(t, "of a wrong job", holdNamed(t, store, HoldFace).Skipped)

	for _, c := range []record.Capture{override, note, store.all[2]} {
		was, err := record.Reject(store, c.ID, testTime.Add(1))
		require.NoError(t, err)
		assert.Equal(t, c.ID, was.ID)
		last := store.all[len(store.all)-1]
		assert.Equal(t, record.QualityRejected, last.Quality)
		assert.Equal(t, c.ID, last.Supersedes)
		assert.Equal(t, c.Note, last.Note)
	}
	assert.True(t, holdNamed(t, store, HoldFace).Blocking)
	assert.Contains(t, holdNamed(t, store, HoldAsFound).Reason, "not measured all round")

	n := len(store.all)
	for number, want := range map[int]string{
		0: "no number 0", -3: "no number -3", n + 1: "which has", note.ID: "does not stand", n: "takes number 3 back",
	} {
		_, err := record.Reject(store, number, testTime)
		require.ErrorContains(t, err, want)
	}
	assert.Len(t, store.all, n, "nothing was written")
}

func TestRejectBringsBackWhatWasSuperseded(t *testing.T) {
	store := &memory{}
	fill(t, store, record.StageFinal, record.FeatureLeakDown, steady(1))
	keyed(t, store, record.StageFinal, record.FeatureLeakDown, 2)
	store.all[1].Supersedes = 1
	_, err := record.Reject(store, 2, testTime)
	require.NoError(t, err)
	live := record.Active(store.all)
	require.Len(t, live, 1)
	assert.Equal(t, 1, live[0].ID)
}
