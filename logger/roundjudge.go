package logger

import (
	"math"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// refresh assesses the round after a change. What was measured before a round
// that is made anew does not count in it.
func (r *Round) refresh() {
	counted := make([]record.Capture, 0, len(r.slots))
	for _, c := range r.slots {
		if c.ID > 0 {
			counted = append(counted, c)
		}
	}
	r.assessed = feature.AssessRound(r.cfg.Sheet, counted, r.cfg.Store.Captures(), r.cfg.Stage, r.cfg.Feature)
}

// outside reports whether a capture is outside by itself.
func (r *Round) outside(c record.Capture) bool {
	v, _, _ := r.judge.Decide(c)
	return v == gum.Outside
}

// positionViews shows each position with its latest capture. A pull of an
// early pass is not judged.
func (r *Round) positionViews() []PositionView {
	views := make([]PositionView, len(r.positions))
	for i, p := range r.positions {
		views[i] = PositionView{Position: p, Value: math.NaN(), U: math.NaN()}
	}
	for k, c := range r.slots {
		if c.ID == 0 {
			continue
		}
		pv := &views[r.visits[k].Place]
		pv.Value, pv.U, pv.Rocks = c.Value, c.U, c.N
		pv.Verdict, _, _ = r.judge.Decide(c)
		pv.Word = feature.TryWord(c)
	}
	if !r.done {
		views[r.visits[r.current].Place].Current = true
	}
	return views
}
