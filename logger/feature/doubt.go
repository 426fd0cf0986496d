package feature

import (
	"fmt"
)

// A typed value so many times the window's upper limit, or so many times the
// target of a bolt, is asked for once more before it is stored.
const (
	absurdValue  = 3.0
	absurdTorque = 2.0
)

// A doubt remembers the typed value that waits to be typed again.
type doubt struct {
	open  bool
	index int // of the visit it was typed for
	value float64
	place string
	why   string
}

// ask asks for a value to be typed once more before it is stored; nil where it
// need not be. Any other value is the answer no, and is taken in its place;
// from a file or a pipe nobody answers: see otherAnswer.
func (d *doubt) ask(s Setup, at At, v float64) Effect {
	why := s.absurd(at, v)
	if why == "" || d.open && d.index == at.Index && d.value == v {
		*d = doubt{}
		return nil
	}
	*d = doubt{open: true, index: at.Index, value: v, place: atAngle(at.Position), why: why}
	return Fault{Text: fmt.Sprintf("%s is %s. Type it again if it is so, or type the right one.", s.Of.plainAmount(v), why)}
}

// otherAnswer refuses values from a file or a pipe after one that was doubted
// and not given twice: they would go to the wrong positions.
func (d *doubt) otherAnswer(s Setup, at At, v float64) []Effect {
	if d.index == at.Index && d.value == v {
		return nil
	}
	return d.unanswered(s)
}

// unanswered refuses to go on from a file or a pipe with an open question.
func (d *doubt) unanswered(s Setup) []Effect {
	if !s.Piped || !d.open {
		return nil
	}
	return one(Refuse{fmt.Errorf("%s: %s is %s and is not stored, nor is what follows: correct it, or give it twice if it is so",
		d.place, s.Of.plainAmount(d.value), d.why)})
}

// absurd says how far off a typed value is; "" if it is not.
func (s Setup) absurd(at At, v float64) string {
	f := s.Of
	if f.Typing.doubt != nil {
		return f.Typing.doubt(s, at, v)
	}
	if upper := s.Spec.Limits.Upper; upper > 0 && v > absurdValue*upper {
		return fmt.Sprintf("%.3g times the limit of %s", v/upper, f.plainAmount(upper))
	}
	return ""
}
