package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

func coarseFace(seed uint64) *hand {
	return newHand(record.FeatureRunoutBackFace, seed, func(s *Setup) { s.Resolution = 0.01 }, false).coarse()
}

// A face of 0.06 mm turned on by an eighth every three seconds: the first and
// the fifth step are of one count.
func TestRunoutOfAHandInRhythm(t *testing.T) {
	face := func(deg float64) float64 { return 0.03 * math.Cos(deg*math.Pi/180) }
	for seed := range uint64(20) {
		h := coarseFace(seed)
		h.setUp(face(-40))
		require.Empty(t, h.taken, "the gauge is only being set")
		h.turn(face, -40, 0, 1)
		h.hold(face(0), 2)
		require.Empty(t, h.taken)
		h.accept()
		for i := 1; i < 8; i++ {
			h.turn(face, 45*float64(i-1), 45*float64(i), 1)
			h.hold(face(45*float64(i)), 2)
		}
		require.True(t, h.at.Done, "seed %d: %+v", seed, h.taken)
		for i, c := range h.taken {
			assert.Equal(t, i+1, c.Position)
			assert.InDelta(t, face(45*float64(i)), c.Value, 0.005, "seed %d, position %d", seed, i+1)
		}
	}
}

// A slow turn shows as single counts: nothing is taken under way.
func TestRunoutOfASlowHand(t *testing.T) {
	face := func(deg float64) float64 { return 0.03 * math.Cos((deg-20)*math.Pi/180) }
	h := coarseFace(4)
	h.setUp(face(-90))
	h.turn(face, -90, 0, 4)
	h.hold(face(0), 4)
	h.accept()
	h.hold(face(0), 1)
	h.turn(face, 0, 90, 6)
	assert.Len(t, h.taken, 1)
}

// A true wheel shows no movement: each place is taken by key, and belongs to
// the place that was announced.
func TestRunoutOfATrueWheelByKey(t *testing.T) {
	h := coarseFace(5)
	h.setUp(0)
	assert.Contains(t, h.ask(), "press space there")
	h.accept()
	require.Len(t, h.taken, 1)
	h.accept()
	assert.Len(t, h.taken, 1, "a second press is no second place")
	assert.Contains(t, h.shown, "turn on to the next place")
	for i := 2; i <= 8; i++ {
		h.hold(0, 2)
		assert.Contains(t, h.ask(), "Turn on to position")
		h.hold(0, 2)
		require.Len(t, h.taken, i-1)
		assert.Contains(t, h.ask(), "No turn seen. Once the wheel rests at position")
		h.accept()
		require.Len(t, h.taken, i)
		assert.Equal(t, i, h.taken[i-1].Position)
	}
	assert.True(t, h.at.Done)
}

// What the key takes is the rest at hand, not what came before the turn.
func TestRunoutKeyTakesTheRestAtHand(t *testing.T) {
	h := coarseFace(6)
	h.setUp(0)
	h.accept()
	h.hold(0, 30)
	require.Len(t, h.taken, 1)
	h.hold(0.01, 2) // a count, long after it was waited for
	require.Len(t, h.taken, 1)
	assert.Contains(t, h.ask(), "press space")
	h.accept()
	require.Len(t, h.taken, 2)
	assert.InDelta(t, 0.01, h.taken[1].Value, 0.003)
	assert.Less(t, h.taken[1].N, 20)
}

// Where no key can be pressed the first place is taken after a movement and a
// long rest.
func TestRunoutWithoutKeys(t *testing.T) {
	h := newHand(record.FeatureRunoutBackFace, 3, func(s *Setup) { s.Resolution, s.NoKeys = 0.01, true }, false).coarse()
	h.hold(0, 10)
	require.Empty(t, h.taken, "nothing has moved yet")
	assert.Contains(t, h.ask(), "rest for 3 seconds")
	h.turn(func(deg float64) float64 { return deg / 1000 }, 0, 45, 1)
	h.hold(0.045, 2)
	require.Empty(t, h.taken)
	h.hold(0.045, 2)
	require.Len(t, h.taken, 1)
}

func TestRunoutBumpIsNoTurn(t *testing.T) {
	h := coarseFace(7)
	h.setUp(0)
	h.accept()
	h.hold(0, 1)
	h.put(0.05)
	h.hold(0, 5)
	h.move(0, 2, 0.6) // the plunger is touched
	h.move(2, 0, 0.6)
	h.hold(0, 5)
	assert.Len(t, h.taken, 1)
}

func TestRunoutNextDoesNotWaitForEver(t *testing.T) {
	h := coarseFace(8)
	h.setUp(0)
	h.accept()
	h.enter(1)
	h.hold(0, 7)
	assert.False(t, h.at.Moving)
	assert.Contains(t, h.ask(), "at position 2, 45 degrees (tooth 6), press space")
	h.enter(0)
	assert.Contains(t, h.ask(), "Position 1, 0 degrees (tooth 1) is stored. Press x")
	h.turn(func(deg float64) float64 { return deg / 1000 }, 0, 45, 2)
	h.hold(0.045, 3)
	assert.Len(t, h.taken, 1, "turned back to a place that is stored: that is kept")
	assert.Zero(t, h.at.Index)
}

func TestSpaceAfterAStoredBacklashStoresNothing(t *testing.T) {
	h := newHand(record.FeatureBacklash, 9, func(*Setup) {}, false)
	h.rock(0, 0.16, 4)
	require.Len(t, h.taken, 1)
	h.accept()
	assert.Len(t, h.taken, 1)
	assert.Contains(t, h.shown, "is stored; x measures it again")
}
