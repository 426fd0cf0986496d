package logger

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// coarseHand is a hand at a 0.01 mm dial that sends ten readings a second.
func coarseHand(seed uint64) *handTrace {
	h := newHandTrace(seed)
	h.rate, h.digit, h.noise = 10, 0.01, 0.0015
	return h
}

// turn goes from one angle to another of a surface as an arm does, slowly at
// both ends.
func (h *handTrace) turn(surface func(deg float64) float64, from, to, seconds float64) {
	n := int(seconds * h.rate)
	for i := range n {
		share := (1 - math.Cos(math.Pi*float64(i+1)/float64(n))) / 2
		h.put(surface(from + share*(to-from)))
	}
}

// setUp sets the gauge on a surface: the plunger is put on, the arm is
// tightened, zero is pressed.
func (h *handTrace) setUp(level float64) {
	h.hold(0, 3)
	h.move(0, 1.4, 0.3)
	h.hold(1.4, 4)
	h.hold(1.43, 5)
	h.hold(level, 6)
}

func coarseFace(t *testing.T) *played {
	return play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, HandsOff: true, Resolution: 0.01})
}

// A face of 0.06 mm turned on by an eighth every three seconds: the first and
// the fifth step are of one count.
func TestRunoutOfAHandInRhythm(t *testing.T) {
	face := func(deg float64) float64 { return 0.03 * math.Cos(deg*math.Pi/180) }
	for seed := range uint64(20) {
		h := coarseHand(seed)
		p := coarseFace(t)
		h.setUp(face(-40))
		p.feed(h.take())
		require.Empty(t, p.store.captures, "the gauge is only being set")
		h.turn(face, -40, 0, 1)
		h.hold(face(0), 2)
		p.feed(h.take())
		require.Empty(t, p.store.captures)
		require.NoError(t, p.Command(CmdCapture))
		for i := 1; i < 8; i++ {
			h.turn(face, 45*float64(i-1), 45*float64(i), 1)
			h.hold(face(45*float64(i)), 2)
		}
		p.feed(h.take())
		require.True(t, p.Done(), "seed %d: %+v", seed, p.store.captures)
		for i, c := range p.store.captures {
			assert.Equal(t, i+1, c.Position)
			assert.InDelta(t, face(45*float64(i)), c.Value, 0.005, "seed %d, position %d", seed, i+1)
		}
	}
}

// A slow turn shows as single counts: nothing is taken under way.
func TestRunoutOfASlowHand(t *testing.T) {
	face := func(deg float64) float64 { return 0.03 * math.Cos((deg-20)*math.Pi/180) }
	h := coarseHand(4)
	p := coarseFace(t)
	h.setUp(face(-90))
	h.turn(face, -90, 0, 4)
	h.hold(face(0), 4)
	p.feed(h.take())
	require.NoError(t, p.Command(CmdCapture))
	h.hold(face(0), 1)
	h.turn(face, 0, 90, 6)
	p.feed(h.take())
	assert.Len(t, p.store.captures, 1)
}

// A true wheel shows no movement: each place is taken by key, and belongs to
// the place that was announced.
func TestRunoutOfATrueWheelByKey(t *testing.T) {
	h := coarseHand(5)
	p := coarseFace(t)
	h.setUp(0)
	p.feed(h.take())
	assert.Contains(t, p.View().Action, "press space there")
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, p.store.captures, 1)
	require.NoError(t, p.Command(CmdCapture))
	assert.Len(t, p.store.captures, 1, "a second press is no second place")
	assert.Contains(t, p.View().Alert, "turn on to the next place")
	for i := 2; i <= 8; i++ {
		h.hold(0, 2)
		p.feed(h.take())
		assert.Contains(t, p.View().Action, "Turn on to position")
		h.hold(0, 2)
		p.feed(h.take())
		require.Len(t, p.store.captures, i-1)
		assert.Contains(t, p.View().Action, "No turn seen. Once the wheel rests at position")
		require.NoError(t, p.Command(CmdCapture))
		require.Len(t, p.store.captures, i)
		assert.Equal(t, i, p.store.captures[i-1].Position)
		assert.Zero(t, p.store.captures[i-1].Supersedes)
	}
	assert.True(t, p.Done())
}

// What the key takes is the rest at hand, not what came before the turn.
func TestRunoutKeyTakesTheRestAtHand(t *testing.T) {
	h := coarseHand(6)
	p := coarseFace(t)
	h.setUp(0)
	p.feed(h.take())
	require.NoError(t, p.Command(CmdCapture))
	h.hold(0, 30)
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	h.hold(0.01, 2) // a count, long after it was waited for
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	assert.Contains(t, p.View().Action, "press space")
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, p.store.captures, 2)
	assert.InDelta(t, 0.01, p.store.captures[1].Value, 0.003)
	assert.Less(t, p.store.captures[1].N, 20)
}

// Where no key can be pressed the first place is taken after a movement and a
// long rest.
func TestRunoutWithoutKeys(t *testing.T) {
	h := coarseHand(3)
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, HandsOff: true, NoKeys: true, Resolution: 0.01})
	h.hold(0, 10)
	p.feed(h.take())
	require.Empty(t, p.store.captures, "nothing has moved yet")
	assert.Contains(t, p.View().Action, "rest for 3 seconds")
	h.turn(func(deg float64) float64 { return deg / 1000 }, 0, 45, 1)
	h.hold(0.045, 2)
	p.feed(h.take())
	require.Empty(t, p.store.captures)
	h.hold(0.045, 2)
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
}

func TestRunoutBumpIsNoTurn(t *testing.T) {
	h := coarseHand(7)
	p := coarseFace(t)
	h.setUp(0)
	p.feed(h.take())
	require.NoError(t, p.Command(CmdCapture))
	h.hold(0, 1)
	h.put(0.05)
	h.hold(0, 5)
	h.move(0, 2, 0.6) // the plunger is touched
	h.move(2, 0, 0.6)
	h.hold(0, 5)
	p.feed(h.take())
	assert.Len(t, p.store.captures, 1)
}

func TestRunoutNextDoesNotWaitForEver(t *testing.T) {
	h := coarseHand(8)
	p := coarseFace(t)
	h.setUp(0)
	p.feed(h.take())
	require.NoError(t, p.Command(CmdCapture))
	require.NoError(t, p.Command(CmdNext))
	h.hold(0, 7)
	p.feed(h.take())
	assert.Equal(t, StateMeasuring, p.View().State)
	assert.Contains(t, p.View().Action, "at position 2, 45 degrees, press space")
	require.NoError(t, p.Command(CmdBack))
	assert.Contains(t, p.View().Action, "Position 1, 0 degrees is stored. Press x")
	h.turn(func(deg float64) float64 { return deg / 1000 }, 0, 45, 2)
	h.hold(0.045, 3)
	p.feed(h.take())
	assert.Len(t, p.store.captures, 1, "turned back to a place that is stored: that is kept")
	assert.Equal(t, 0, p.View().Current)
}

func TestSpaceAfterAStoredBacklashStoresNothing(t *testing.T) {
	h := newHandTrace(9)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	h.rock(0, 0.16, 4)
	p.feed(h.take())
	require.Len(t, p.store.captures, 1)
	require.NoError(t, p.Command(CmdCapture))
	assert.Len(t, p.store.captures, 1)
	assert.Contains(t, p.View().Alert, "is stored; x measures it again")
}
