package simbench

import (
	"context"
	"time"
)

// A pacer holds simulated time back to a ratio of real time.
type pacer struct {
	ratio float64   // simulated seconds a real one; 0: no holding back
	real  time.Time // of simulated second sim; zero: time did not run
	sim   float64
}

// rest forgets the past: time did not run.
func (p *pacer) rest() { p.real = time.Time{} }

// wait sleeps until the real time of simulated second at; false if ctx ended.
func (p *pacer) wait(ctx context.Context, at float64) bool {
	if p.ratio <= 0 {
		return true
	}
	if time.Since(p.real) > time.Second/4 { // at first, or too far behind
		p.real, p.sim = time.Now(), at
	}
	p.real = p.real.Add(time.Duration((at - p.sim) / p.ratio * float64(time.Second)))
	p.sim = at
	select {
	case <-ctx.Done():
		return false
	case <-time.After(time.Until(p.real)):
		return true
	}
}
