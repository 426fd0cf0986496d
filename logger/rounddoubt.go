package logger

import (
	"fmt"
	"math"
	"strconv"
)

// A typed value so many times the window's upper limit, or so many times the
// target of a bolt, is asked for once more before it is stored.
const (
	absurdValue  = 3.0
	absurdTorque = 2.0
)

// A question is a doubtful typed value that waits to be typed again.
type question struct {
	visit int
	value float64
	open  bool
}

// doubted reports whether a value must be typed once more before it is stored,
// and asks for it. Any other value is the answer no, and is taken in its place;
// from a file or a pipe nobody answers: see unanswered.
func (r *Round) doubted(v float64) bool {
	q := question{visit: r.current, value: v, open: true}
	why := r.absurd(v)
	if why == "" || r.asked == q {
		r.asked = question{}
		return false
	}
	r.asked = q
	r.raise("", fmt.Sprintf("%s is %s. Type it again if it is so, or type the right one.", r.plainAmount(v), why))
	return true
}

// unanswered refuses values from a file or a pipe after one that was doubted
// and not given twice: they would go to the wrong positions.
func (r *Round) unanswered(v float64) error {
	if !r.cfg.Piped || !r.asked.open || r.asked.visit == r.current && r.asked.value == v {
		return nil
	}
	return r.questionError()
}

// questionError is the open question as an error.
func (r *Round) questionError() error {
	p := r.positions[r.visits[r.asked.visit].position]
	return fmt.Errorf("%s: %s is %s and is not stored, nor is what follows: correct it, or give it twice if it is so",
		atAngle(p), r.plainAmount(r.asked.value), r.absurd(r.asked.value))
}

// absurd says how far off a typed value is; "" if it is not.
func (r *Round) absurd(v float64) string {
	upper := r.spec.Limits.Upper
	switch r.feat.kind {
	case kindBolts:
		target := r.visits[r.current].target
		if v > absurdTorque*target && target > 0 {
			return fmt.Sprintf("%.3g times the target of %s", v/target, r.plainAmount(roundTo(target, 0.1)))
		}
		return ""
	case kindRunout: // a level counts by its distance from the others
		if r.assessed.Round.N == 0 || !(upper > 0) || math.Abs(v-r.assessed.Round.Mean) <= absurdValue*upper {
			return ""
		}
		return fmt.Sprintf("%.3g from the other places, where %s is allowed in all", math.Abs(v-r.assessed.Round.Mean), r.plainAmount(upper))
	case kindPattern:
		return ""
	}
	if upper > 0 && v > absurdValue*upper {
		return fmt.Sprintf("%.3g times the limit of %s", v/upper, r.plainAmount(upper))
	}
	return ""
}

// plainAmount is a value as it was typed, with the feature's unit.
func (r *Round) plainAmount(v float64) string {
	text := strconv.FormatFloat(roundTo(v, 1e-4), 'f', -1, 64)
	if r.feat.unit == "" {
		return text
	}
	return text + " " + r.feat.unit
}
