package logger

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/device"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

var testTime = time.Date(2026, 3, 4, 9, 30, 0, 123456789, time.UTC)

// A memoryStore keeps captures in memory, and fails when told to.
type memoryStore struct {
	captures []record.Capture
	fail     error
}

func (m *memoryStore) Append(c record.Capture) (record.Capture, error) {
	if m.fail != nil {
		return c, m.fail
	}
	c.ID = len(m.captures) + 1
	m.captures = append(m.captures, c)
	return c, nil
}

func (m *memoryStore) Captures() []record.Capture { return m.captures }

// A played round with what it told.
type played struct {
	*Round
	t      *testing.T
	store  *memoryStore
	events []Event
}

func play(t *testing.T, store *memoryStore, c RoundConfig) *played {
	t.Helper()
	p := &played{t: t, store: store}
	if c.Sheet.Schema == 0 {
		c.Sheet = sheet.Example()
	}
	c.Store, c.Listen = store, func(e Event) { p.events = append(p.events, e) }
	if c.Stage == "" {
		c.Stage = record.StageAsFound
	}
	if c.Feature == "" {
		c.Feature = record.FeatureBacklash
	}
	r, err := NewRound(c)
	require.NoError(t, err)
	p.Round = r
	return p
}

func (p *played) feed(events []device.Event) {
	p.t.Helper()
	for _, ev := range events {
		require.NoError(p.t, p.Handle(ev))
	}
}

// count counts the events of a kind.
func (p *played) count(k EventKind) int {
	n := 0
	for _, e := range p.events {
		if e.Kind == k {
			n++
		}
	}
	return n
}

// trueBacklash is what the test's gear has at a position.
func trueBacklash(position int) float64 {
	return 0.165 + 0.012*math.Cos(2*math.Pi*float64(position-1)/8)
}

// handsOff plays a whole round with no key pressed.
func (h *handTrace) handsOff(positions, rocks int) {
	base := 0.0
	for i := 1; i <= positions; i++ {
		h.rock(base, trueBacklash(i), rocks)
		next := 0.02 * float64(i%3)
		if i < positions {
			h.liftAndTurn(base, next)
		}
		base = next
	}
}

func TestRoundHandsOff(t *testing.T) {
	h := newHandTrace(1)
	h.handsOff(8, 5)
	p := play(t, &memoryStore{}, RoundConfig{HandsOff: true})
	p.feed(h.take())
	require.True(t, p.Done(), "view: %+v", p.View())
	require.Len(t, p.store.captures, 8)
	for i, c := range p.store.captures {
		assert.Equal(t, i+1, c.Position)
		assert.InDelta(t, trueBacklash(i+1), c.Value, 0.004)
		assert.GreaterOrEqual(t, c.N, 3)
		assert.Equal(t, record.QualityOK, c.Quality)
	}
	assert.Equal(t, 8, p.count(EventCaptured))
	assert.Equal(t, 1, p.count(EventDone))
	v := p.View()
	assert.Equal(t, -1, v.Current)
	assert.Equal(t, StateDone, v.State)
	assert.Equal(t, gum.Inside, v.Verdict)
	assert.Empty(t, v.Alert)
}

func TestRoundContinues(t *testing.T) {
	h := newHandTrace(2)
	h.handsOff(8, 5)
	events := h.take()
	store := &memoryStore{}
	first := play(t, store, RoundConfig{HandsOff: true})
	first.feed(events[:len(events)/2])
	require.NotEmpty(t, store.captures)
	require.False(t, first.Done())
	had := len(store.captures)

	second := play(t, store, RoundConfig{HandsOff: true})
	assert.Equal(t, had, second.View().Stored)
	assert.Equal(t, had, second.View().Current, "goes on at the first position not measured")
	h.rock(0, trueBacklash(had+1), 4)
	second.feed(h.take())
	require.Len(t, store.captures, had+1)
	assert.Equal(t, had+1, store.captures[had].Position)
	assert.Zero(t, store.captures[had].Supersedes)
}

func TestRoundKeepsNothingHalf(t *testing.T) {
	full := errors.New("no space left")
	store := &memoryStore{fail: full}
	p := play(t, store, RoundConfig{})
	h := newHandTrace(3)
	h.rock(0, 0.16, 5)
	var failed error
	for _, ev := range h.take() {
		if err := p.Handle(ev); err != nil {
			failed = err
			break
		}
	}
	require.ErrorIs(t, failed, full)
	assert.Zero(t, p.View().Stored)
	assert.Contains(t, p.View().Alert, "NOT stored")
	store.fail = nil
	h.rock(0, 0.16, 5)
	p.feed(h.take())
	assert.Equal(t, 1, p.View().Stored)
}

// TestRoundHandsOffAtAnyRate plays the same hands to gauges of every speed and
// resolution.
func TestRoundHandsOffAtAnyRate(t *testing.T) {
	for _, tt := range []struct {
		rate, digit, noise, within float64
	}{
		{5, 0.001, 0.0005, 0.004},
		{10, 0.01, 0.002, 0.008},
		{25, 0.0005, 0.0005, 0.004},
		{200, 0.001, 0.001, 0.004},
		{1000, 0.001, 0.002, 0.004},
	} {
		t.Run(fmt.Sprintf("%v Hz, %v mm", tt.rate, tt.digit), func(t *testing.T) {
			h := newHandTrace(5)
			h.rate, h.digit, h.noise = tt.rate, tt.digit, tt.noise
			base := 0.0
			for i := 1; i <= 8; i++ {
				for range 7 {
					h.move(base, base+trueBacklash(i), 0.4)
					h.hold(base+trueBacklash(i), 1.0)
					h.move(base+trueBacklash(i), base, 0.4)
					h.hold(base, 1.0)
				}
				h.liftAndTurn(base, 0.05*float64(i%3))
				base = 0.05 * float64(i%3)
			}
			p := play(t, &memoryStore{}, RoundConfig{HandsOff: true, Resolution: tt.digit})
			p.feed(h.take())
			require.True(t, p.Done(), "stored %d, alert %q", p.View().Stored, p.View().Alert)
			for i, c := range p.store.captures {
				assert.Equal(t, i+1, c.Position)
				assert.InDelta(t, trueBacklash(i+1), c.Value, tt.within)
			}
			assert.Zero(t, p.View().Alarm)
		})
	}
}
