package simbench

import (
	"context"
	"time"
)

// A pacer holds simulated time back to a ratio of real time.
type pacer struct {
	ratio float64 // simulated seconds a real one; 0: no holding back
	real  time.Time
	sim   float64
	going bool
}

// rest forgets the past: time did not run.
func (p *pacer) rest() { p.going = false }

// wait sleeps until the real time of simulated second at; false if ctx ended.
func (p *pacer) wait(ctx context.Context, at float64) bool {
	if p.ratio <= 0 {
		return true
	}
	if !p.going {
		p.real, p.sim, p.going = time.Now(), at, true
	}
	p.real = p.real.Add(time.Duration((at - p.sim) / p.ratio * float64(time.Second)))
	p.sim = at
	ahead := time.Until(p.real)
	if ahead < -time.Second/4 {
		p.real = time.Now()
	}
	if ahead <= 0 {
		return true
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(ahead):
		return true
	}
}
