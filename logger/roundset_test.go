package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// rockByHand rocks between two stops as a hand does: rests of half a second to
// two, pushes a little harder or softer, and fumbles now and then.
func (h *handTrace) rockByHand(low, backlash float64, rocks int) {
	at := low
	to := func(x, seconds float64) {
		h.move(at, x, seconds)
		at = x
	}
	for range rocks {
		to(low+backlash+0.003*h.rng.Float64(), 0.15+0.35*h.rng.Float64())
		h.hold(at, 0.5+1.5*h.rng.Float64())
		if h.rng.Float64() < 0.15 {
			to(low+0.6*backlash, 0.2)
			to(low+backlash, 0.2)
			h.hold(at, 0.5+1.5*h.rng.Float64())
		}
		to(low-0.003*h.rng.Float64(), 0.15+0.35*h.rng.Float64())
		h.hold(at, 0.5+1.5*h.rng.Float64())
	}
}

// The plunger hangs free, is set on the tooth with some preload, and the wheel
// is rocked evenly from there.
func TestSettingThePlungerOnTheToothIsNoFault(t *testing.T) {
	faults, stored := 0, 0
	for seed := range uint64(40) {
		preload := 0.3 + 0.05*float64(seed%11)
		h := newHandTrace(seed)
		h.rate, h.digit, h.noise = 10, 0.01, 0.0015
		p := play(t, &memoryStore{}, RoundConfig{HandsOff: true, Resolution: 0.01})
		h.hold(0, 3)
		h.move(0, preload, 0.5)
		h.hold(preload, 2)
		if seed%2 == 0 {
			h.rockByHand(preload, 0.17, 8)
		} else {
			h.move(preload, preload-0.17, 0.3)
			h.rockByHand(preload-0.17, 0.17, 8)
		}
		p.feed(h.take())
		for _, e := range p.events {
			if e.Kind == EventFault && e.Fault == analysis.OffGear {
				faults++
				break
			}
		}
		if len(p.store.captures) == 1 {
			stored++
			assert.InDelta(t, 0.17, p.store.captures[0].Value, 0.01, "preload %.2f", preload)
		}
	}
	assert.Equal(t, 40, stored)
	assert.LessOrEqual(t, faults, 1)
}
