package device

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"crownlog/device/frame"
)

// mark feeds values 100 ms apart and returns the flags of the last.
func markAll(m *monitor, decimals int, unit string, values ...float64) frame.Flags {
	var flags frame.Flags
	for _, v := range values {
		t := m.last.Add(100 * time.Millisecond)
		m.pace(t, 1)
		flags = m.mark(&frame.Frame{Value: v, Unit: unit, Decimals: decimals}, Reading{Time: t, Raw: time.Duration(v * 1e9).String(), Value: v, Unit: unit})
	}
	return flags
}

func TestUnitJumpWithoutUnitWord(t *testing.T) {
	still := []float64{5.08, 5.08, 5.081, 5.08, 5.079, 5.08, 5.081, 5.08, 5.08}
	tests := []struct {
		name     string
		decimals []int // of the readings before, the last for the rest of them
		before   []float64
		then     float64
		now      int
		want     frame.Flags
	}{
		{"to inch", []int{3}, still, 0.20001, 5, frame.FlagUnitChanged},
		{"to millimetre", []int{4}, []float64{.2, .2, .2, .2, .2, .2, .2, .2}, 5.08, 2, frame.FlagUnitChanged},
		{"two stops, one near zero", []int{3}, []float64{.006, .006, .006, .006, .006, .006, .006, .006, .006}, .152, 3, 0},
		{"the same the other way", []int{3}, []float64{.152, .152, .152, .152, .152, .152, .152, .152, .152}, .006, 3, 0},
		{"zeros are dropped", []int{3, 2}, []float64{.148, .15, .15, .15, .15, .15, .15, .15, .15}, .006, 3, 0},
		{"fewer digits of a smaller value", []int{3}, still, 0.2, 1, 0},
		{"other decimals, another ratio", []int{3}, still, 0.13, 4, 0},
		{"against the ratio", []int{3}, still, -0.2, 4, 0},
		{"too few readings before", []int{3}, []float64{5.08, 5.08}, 0.2, 4, 0},
		{"zero pressed", []int{3}, still, 0, 4, 0},
		{"from zero", []int{3}, []float64{0, 0, 0, 0, 0, 0, 0, 0}, 0.2, 4, 0},
		{"no form at all", []int{-1}, still, 0.2, -1, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			m := newMonitor(Profile{})
			for i, v := range tt.before {
				assert.Zero(t, markAll(&m, tt.decimals[min(i, len(tt.decimals)-1)], "", v))
			}
			assert.Equal(t, tt.want, markAll(&m, tt.now, "", tt.then))
		})
	}
}

func TestJumpBackStandsOutAsTheJumpDid(t *testing.T) {
	m := newMonitor(Profile{})
	markAll(&m, 3, "", 5.08, 5.08, 5.081, 5.08, 5.079, 5.08, 5.081, 5.08, 5.08)
	assert.Equal(t, frame.FlagUnitChanged, markAll(&m, 4, "", 0.2))
	assert.Zero(t, markAll(&m, 4, "", .2, .2, .2, .2, .2, .2, .2))
	assert.Equal(t, frame.FlagUnitChanged, markAll(&m, 3, "", 5.08))
	assert.Zero(t, markAll(&m, 3, "", 5.08))
}

func TestIntervalIsLearnedUnlessTheProfileSaysIt(t *testing.T) {
	m := newMonitor(Profile{Interval: Duration(time.Second)})
	markAll(&m, 3, "", 1, 2, 3)
	assert.Equal(t, time.Second, m.interval)
	m = newMonitor(Profile{})
	markAll(&m, 3, "", 1, 2)
	assert.Equal(t, 100*time.Millisecond, m.interval)
	for range 20 {
		m.pace(m.last.Add(200*time.Millisecond), 1)
	}
	assert.InDelta(t, 200, float64(m.interval)/float64(time.Millisecond), 10, "learned within twenty readings")
	asked := newMonitor(Profile{Mode: ModeAsked})
	assert.Equal(t, 600*time.Millisecond, asked.patience)
}

// Frames of one Read are spread over the time since the one before, but no
// further apart than they usually come, and not over a long pause.
func TestStepBetweenFramesOfOneRead(t *testing.T) {
	start := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, tt := range []struct {
		usual, since time.Duration
		n            int
		want         time.Duration
	}{
		{0, 100 * time.Millisecond, 1, 0}, {0, 100 * time.Millisecond, 2, 50 * time.Millisecond}, {0, time.Hour, 5, 200 * time.Millisecond},
		{10 * time.Millisecond, 100 * time.Millisecond, 2, 10 * time.Millisecond}, {0, -time.Second, 2, 0},
	} {
		m := monitor{interval: tt.usual, last: start}
		assert.Equal(t, tt.want, m.step(start.Add(tt.since), tt.n, false), "%+v", tt)
	}
}

// What comes in bursts, as through a bridge without a cable, is neither silent
// between two of them nor pressed together.
func TestBurstsAreNoSilence(t *testing.T) {
	m := newMonitor(Profile{})
	now := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	m.opened(now)
	m.any = true
	for i := range 20 {
		gap := time.Duration(300+20*i) * time.Millisecond
		n := int(gap / (10 * time.Millisecond))
		for wait := time.Duration(0); wait < gap; wait += 50 * time.Millisecond {
			assert.True(t, m.silence(now.Add(wait)) == 0 || i == 0, "burst %d", i)
		}
		now = now.Add(gap)
		if step := m.step(now, n, false); i > 0 {
			assert.InDelta(t, 10, float64(step)/float64(time.Millisecond), 0.5)
		}
		m.pace(now, n)
	}
	for range 100 {
		now = now.Add(10 * time.Millisecond)
		m.pace(now, 1)
	}
	assert.NotZero(t, m.silence(now.Add(leastSilence+1)), "and then one that comes evenly again")
}

func TestFrozenAndDuplicate(t *testing.T) {
	m := newMonitor(Profile{})
	start := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	at := func(d time.Duration, raw string, seq rune) frame.Flags {
		return m.mark(&frame.Frame{Seq: string(seq)}, Reading{Time: start.Add(d), Raw: raw})
	}
	assert.Zero(t, at(0, "0.1", 1))
	assert.Equal(t, frame.FlagDuplicate, at(time.Second, "0.1", 1))
	assert.Zero(t, at(frozenAfter, "0.1", 2))
	assert.Equal(t, frame.FlagFrozen, at(frozenAfter+time.Millisecond, "0.1", 3))
	assert.Zero(t, at(frozenAfter+time.Second, "0.2", 4))
	m.opened(start)
	assert.Zero(t, at(0, "0.3", 4), "a counter may start anew after a reconnection")
}

func TestSamePressTwiceIsNotFrozen(t *testing.T) {
	start := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, sends := range []string{SendsOnPress, SendsOnChange} {
		m := newMonitor(Profile{Sends: sends})
		m.opened(start)
		for _, d := range []time.Duration{0, frozenAfter + time.Second} {
			assert.Zero(t, m.mark(&frame.Frame{}, Reading{Time: start.Add(d), Raw: "0.1"}))
		}
		assert.Zero(t, m.silence(start.Add(time.Hour)), "it has nothing to say")
	}
}

func TestSilenceIsFiveIntervals(t *testing.T) {
	start := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	m := newMonitor(Profile{})
	m.opened(start)
	assert.Zero(t, m.silence(start.Add(firstSilence)))
	assert.Equal(t, firstSilence+1, m.silence(start.Add(firstSilence+1)))
	assert.Zero(t, m.silence(start.Add(time.Hour)), "told once")
	for range 40 {
		markAll(&m, 3, "", 1)
	}
	assert.Equal(t, 100*time.Millisecond, m.interval)
	assert.Zero(t, m.silence(m.last.Add(500*time.Millisecond)))
	assert.NotZero(t, m.silence(m.last.Add(501*time.Millisecond)))
	markAll(&m, 3, "", 1)
	fast := newMonitor(Profile{Interval: Duration(time.Millisecond)})
	fast.opened(start)
	assert.Zero(t, fast.silence(start.Add(leastSilence)), "a busy computer is not a silent gauge")
}
