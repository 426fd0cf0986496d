package simbench

import (
	"context"
	"time"
)

// A pacer holds simulated time back to a ratio of real time.
type pacer struct {
	real time.Time // of simulated second sim
	sim  float64
}

// wait sleeps until the real time of simulated second at; false if ctx ended. ratio
// is how many simulated seconds pass in a real one; 0: no holding back.
func (p *pacer) wait(ctx context.Context, at, ratio float64) bool {
	if ratio <= 0 {
		return true
	}
	p.real = p.real.Add(time.Duration((at - p.sim) / ratio * float64(time.Second)))
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
