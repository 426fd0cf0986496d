package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// The word to act on, as a hand goes through a position.
func TestActFollowsTheHand(t *testing.T) {
	h := newHandTrace(31)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	act := func(want, when string) {
		t.Helper()
		p.feed(h.take())
		assert.Equal(t, want, p.View().Act, when)
	}
	act("turn to 1", "before anything")
	h.hold(0, 0.8)
	h.move(0, 0.16, 0.25)
	h.hold(0.16, 0.6)
	h.move(0.16, 0, 0.25)
	h.hold(0, 0.6)
	act("rock 2 more", "after a rock")
	h.rock(0, 0.16, 2)
	act("lift", "stored")
	h.liftAndTurn(0, 0)
	act("turn to 2", "lifted")
	require.NoError(t, p.Command(CmdBack))
	act("stored", "back by key")
	require.NoError(t, p.Command(CmdPause))
	act("", "the state says it")
}

func TestActOfWhatIsNotRocked(t *testing.T) {
	for name, want := range map[string]string{
		record.FeatureWheelBolts: "pull bolt 1", record.FeatureRunoutBackFace: "turn to 1", record.FeatureEngagement: "cycle 1",
		record.FeatureOilFill: "type it", record.FeaturePatternDrive: "along",
	} {
		p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: name, Keyed: true})
		assert.Equal(t, want, p.View().Act, name)
	}
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: record.FeaturePreloadTotal})
	assert.Empty(t, p.View().Act)
}

// What was typed last is shown to be checked, half a division with its digit.
func TestTypedDialIsShownWithItsHalfDivision(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true, Resolution: 0.01})
	p.key(0.165)
	v := p.View()
	assert.Equal(t, 0.165, v.Reading)
	assert.Equal(t, 3, v.Decimals)
}
