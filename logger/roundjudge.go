package logger

import (
	"crownlog/analysis/gum"
)

// refresh assesses the round after a change. What was measured before a round
// that is made anew does not count in it.
func (r *Round) refresh() {
	counted := make([]Capture, 0, len(r.slots))
	for _, c := range r.slots {
		if c.ID > 0 {
			counted = append(counted, c)
		}
	}
	r.assessed = assess(r.cfg.Sheet, counted, r.cfg.Store.Captures(), r.cfg.Stage, r.cfg.Feature)
}

// outside reports whether a capture is outside by itself.
func (r *Round) outside(c Capture) bool {
	v, _, _ := r.judge.decide(c)
	return v == gum.Outside
}
