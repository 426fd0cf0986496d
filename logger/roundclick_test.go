package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// A wrench without a reading clicks at what it is set to: that goes on record as
// the torque, and that nothing was read.
func TestClickOfAWrenchWithoutReading(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.True(t, p.View().Keyed)
	require.NoError(t, p.Command(CmdClick))
	require.Len(t, p.store.captures, 1)
	c := p.store.captures[0]
	assert.InDelta(t, 29.4, c.Value, 1e-9)
	assert.Equal(t, record.QualityKeyed, c.Quality)
	assert.Equal(t, record.Pass{N: 1, Of: 3, Percent: 30}, c.Pass)
	assert.Equal(t, "clicked at its setting, nothing read", c.Note)
	assert.Equal(t, "Pull bolt 6 to 29.4 N·m (pass 1 of 3).", p.View().Action)
}

func TestClickBesideAWrenchThatReads(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{})
	require.NoError(t, p.Command(CmdClick))
	require.Len(t, p.store.captures, 1)
	assert.False(t, p.View().Keyed)
}

func TestOnlyABoltIsClicked(t *testing.T) {
	for _, keyed := range []bool{true, false} {
		p := play(t, &memoryStore{}, RoundConfig{Keyed: keyed})
		require.NoError(t, p.Command(CmdClick))
		assert.Empty(t, p.store.captures)
		assert.Equal(t, "Only a bolt is clicked.", p.View().Alert)
	}
}
