package feature

import (
	"fmt"

	"crownlog/logger/record"
)

// A typed value so many times the window's upper limit, or so many times the
// target of a bolt, is asked for once more before it is stored.
const (
	absurdValue  = 3.0
	absurdTorque = 2.0
)

// A question is whether a typed value is right: it waits to be typed again.
type question struct {
	index int // of the visit it was typed for
	value float64
	place string
	why   string
}

// repeats reports whether v is the value in question, typed again.
func (e *entry) repeats(at At, v float64) bool {
	return e.open != nil && e.open.index == at.Index && e.open.value == v
}

// ask asks for a value to be typed once more before it is stored; nil where it
// need not be. Any other value is the answer no, and is taken in its place;
// from a file or a pipe nobody answers: see otherAnswer.
func (e *entry) ask(at At, v float64) Effect {
	why := e.absurd(at, v)
	if why == "" || e.repeats(at, v) {
		e.open = nil
		return nil
	}
	e.open = &question{at.Index, v, atAngle(at.Position), why}
	return Fault{Text: fmt.Sprintf("%s is %s. Type it again if it is so, or type the right one.", e.Of.plainAmount(v), why)}
}

// otherAnswer refuses values from a file or a pipe after one that was doubted
// and not given twice: they would go to the wrong positions.
func (e *entry) otherAnswer(at At, v float64) []Effect {
	if e.repeats(at, v) {
		return nil
	}
	return e.unanswered()
}

// unanswered refuses to go on from a file or a pipe with an open question.
func (e *entry) unanswered() []Effect {
	if !e.Piped || e.open == nil {
		return nil
	}
	return one(Refuse{fmt.Errorf("%s: %s is %s and is not stored, nor is what follows: correct it, or give it twice if it is so",
		e.open.place, e.Of.plainAmount(e.open.value), e.open.why)})
}

// absurd says how far off a typed value is; "" if it is not.
func (s Setup) absurd(at At, v float64) string {
	f := s.Of
	if f.Typing.doubt != nil {
		return f.Typing.doubt(s, at, v)
	}
	upper := s.Spec.Limits.Upper
	if upper > 0 && v > absurdValue*upper {
		return fmt.Sprintf("%.3g times the limit of %s", v/upper, f.plainAmount(upper))
	}
	if usual, ok := usually[f.Name]; ok && (v < usual[0] || v > usual[1]) {
		return fmt.Sprintf("not usual, which is %g to %s", usual[0], f.plainAmount(usual[1]))
	}
	return ""
}

// usually is from where to where a figure lies, whatever the sheet says, with
// room: one beyond it is more likely that of another step. In the feature's unit.
// Common practice, no source; truck axles are within.
var usually = map[string][2]float64{
	record.FeatureBacklash: {0, 1}, record.FeaturePreloadPinion: {0.05, 20}, record.FeaturePreloadTotal: {0.05, 20},
	record.FeatureOilFill: {0.3, 30},
}
