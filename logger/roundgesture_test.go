package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// flick lifts the stem and lets it go, as every mechanic does with an indicator.
func (h *handTrace) flick(times int) {
	for range times {
		h.move(0, 3.5, 0.15)
		h.hold(3.5, 0.3)
		h.move(3.5, 0, 0.15)
		h.hold(0, 0.5)
	}
}

// twoStored is a round with positions 1 and 2 stored by hand, at 0.16 and 0.17.
func twoStored(t *testing.T) (*handTrace, *played) {
	t.Helper()
	h := newHandTrace(24)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 4)
	h.liftAndTurn(0, 0)
	h.rock(0, 0.17, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 2)
	return h, p
}

func TestFlicksWhereNothingIsCapturedOnlyRestartTheRocks(t *testing.T) {
	for name, before := range map[string]func(h *handTrace){
		"after a long lift":         func(*handTrace) {},
		"with rocks already there":  func(h *handTrace) { h.rock(0, 0.20, 2) },
		"after three flicks before": func(h *handTrace) { h.flick(3); h.hold(0, 3) },
	} {
		t.Run(name, func(t *testing.T) {
			h, p := twoStored(t)
			h.liftAndTurn(0, 0)
			before(h)
			h.flick(2)
			p.feed(h.take())
			assert.Equal(t, 2, p.View().Current)
			assert.Zero(t, p.View().Back)
			assert.Zero(t, p.View().Rocks)
			h.rock(0, 0.20, 5)
			p.feed(h.take())
			require.Len(t, p.store.captures, 3)
			assert.Equal(t, 3, p.store.captures[2].Position)
			assert.Zero(t, p.store.captures[2].Supersedes, "nothing is overwritten")
			assert.InDelta(t, 0.20, p.store.captures[2].Value, 0.004)
		})
	}
}

func TestTwoTapsOnWhatIsJustStoredGoBack(t *testing.T) {
	h, p := twoStored(t)
	h.flick(1)
	p.feed(h.take())
	assert.Equal(t, 2, p.View().Current, "one tap goes on, as any lift does")
	h.flick(1)
	p.feed(h.take())
	v := p.View()
	assert.Equal(t, 1, v.Current, "two go back to where they began")
	assert.Equal(t, 1, v.Back, "and are signalled apart")
	assert.Equal(t, "Back to position 2, by two quick lifts. Rock it again, or press n to go on.", v.Action)
	h.rock(0, 0.171, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 3)
	assert.Equal(t, 2, p.store.captures[2].Position)
	assert.Equal(t, 2, p.store.captures[2].Supersedes)
	h.liftAndTurn(0, 0)
	h.hold(0, 2)
	h.liftAndTurn(0, 0)
	p.feed(h.take())
	assert.Equal(t, 2, p.View().Current, "slow lifts never go back")
}

func TestTapsAfterTheLastPositionReopenNothing(t *testing.T) {
	h := newHandTrace(25)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	for range 8 {
		h.rock(0, 0.16, 4)
		h.liftAndTurn(0, 0)
	}
	h.flick(3)
	p.feed(h.take())
	assert.True(t, p.Done(), "the gauge is being taken away")
}

// The tooth may be another than the one that is to be replaced.
func TestValueFarFromTheOneItReplacesAsksFirst(t *testing.T) {
	h, p := twoStored(t)
	h.flick(2)
	h.rock(0, 0.20, 3)
	p.feed(h.take())
	require.Len(t, p.store.captures, 2, "not stored")
	v := p.View()
	assert.Regexp(t, `^Position 2 has 0\.1[67]\d mm stored, and this is 0\.(199|20\d) mm\. Is it the same place\? Give it once more to replace it, or press n to keep what is stored\.$`, v.Alert)
	assert.Equal(t, 1, v.Alarm)
	h.rock(0, 0.23, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 2, "nor another value")
	h.rock(0, 0.23, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 3, "measured twice it replaces")
	assert.Equal(t, 2, p.store.captures[2].Supersedes)
	assert.Empty(t, p.View().Alert)
}

func TestWhatIsStoredIsKeptByGoingOn(t *testing.T) {
	h, p := twoStored(t)
	h.flick(2)
	h.rock(0, 0.20, 3)
	p.feed(h.take())
	require.NoError(t, p.Command(CmdNext))
	assert.Empty(t, p.View().Alert)
	h.rock(0, 0.20, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 3)
	assert.Equal(t, 3, p.store.captures[2].Position)
}

func TestTypedValueFarFromTheOneItReplacesIsTypedTwice(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(0.15)
	require.NoError(t, p.Command(CmdBack))
	p.key(0.18)
	assert.Contains(t, p.View().Alert, "Give it once more to replace it")
	require.Len(t, p.store.captures, 1)
	p.key(0.18)
	require.Len(t, p.store.captures, 2)
	assert.Equal(t, 1, p.store.captures[1].Supersedes)
}

func TestTurnedOnWithoutTheBellNamesThePositionNotStored(t *testing.T) {
	h := newHandTrace(26)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 4)
	h.liftAndTurn(0, 0)
	h.rock(0, 0.16, 2)
	h.liftAndTurn(0, 0)
	p.feed(h.take())
	v := p.View()
	assert.Equal(t, analysis.OffGear, v.Fault)
	assert.Equal(t, "Position 2 is NOT stored: the plunger left the tooth before the bell. Set it back there and rock again.", v.Alert)
	assert.Equal(t, 1, v.Current)
}
