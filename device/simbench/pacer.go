package simbench

import (
	"context"
	"time"
)

// A pacer holds simulated time back to a ratio of real time.
type pacer struct {
	ratio float64   // simulated seconds a real one; 0: no holding back
	real  time.Time // of simulated second sim
	sim   float64
}

// wait sleeps until the real time of simulated second at; false if ctx ended.
func (p *pacer) wait(ctx context.Context, at float64) bool {
	if p.ratio <= 0 {
		return true
	}
	p.real = p.real.Add(time.Duration((at - p.sim) / p.ratio * float64(time.Second)))
	p.sim = at
	if time.Since(p.real) > time.Second/4 { // at first, after time stood still, or too far behind
		p.real = time.Now()
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(time.Until(p.real)):
		return true
	}
}
