package dashboard

import (
	"fmt"
	"math"

	"crownlog/analysis"
)

// adjusterRows is the height of the picture of a move.
const adjusterRows = 9

// A turn is one half of a move: which adjuster, out or in, and how many
// notches.
type turn struct {
	near    bool // the adjuster on the crown-wheel side
	in      bool
	notches int
}

// turns splits a move into what the hands do, the loosening side first.
// Positive notches bring the crown wheel towards the pinion: the far adjuster
// comes out and the one on the crown-wheel side follows in.
func turns(notches int) [2]turn {
	n := abs(notches)
	return [2]turn{{near: notches < 0, notches: n}, {near: notches > 0, in: true, notches: n}}
}

// clockwise is the way the adjuster turns seen from the crown-wheel side: a
// right-hand thread goes in clockwise seen from its own outside, and the far
// one is seen from its back.
func (t turn) clockwise() bool { return t.near == t.in }

// adjusters draws a move: both adjusters as seen from the crown-wheel side
// with the way they turn, or the shims to change over, and what it should
// give.
func adjusters(c canvas, a analysis.Advice) {
	if a.Notches == 0 {
		shims(c, a)
	} else {
		c.centre(0, "seen from the crown-wheel side", inkFaint)
		half := c.w / 2
		for i, t := range turns(a.Notches) {
			oneAdjuster(c.pane(i*half, 1, half, 6), i+1, t)
		}
	}
	c.centre(7, clip(predictionText(a), c.w, c.ascii), inkPlain)
	c.centre(8, clip(gainText(a), c.w, c.ascii), inkFaint)
}

func oneAdjuster(c canvas, order int, t turn) {
	side, way, head := "far side", "OUT", "←"
	if t.near {
		side = "crown-wheel side"
	}
	if t.in {
		way = "IN"
	}
	if t.clockwise() {
		head = "→"
	}
	c.centre(0, fmt.Sprintf("%d. %s", order, side), inkStrong)
	c.centre(3, fmt.Sprintf("%s %d", way, t.notches), inkStrong)
	mid := c.w / 2
	c.text(mid-1, 1, head+head+head, inkStop)
	d := newDots(c.w, c.h)
	const r = 9.0 // dots
	for i := range 128 {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / 128)
		d.set(2*mid+1+int(math.Round(r*1.7*sin)), 13-int(math.Round(r*cos)))
	}
	d.draw(c, inkTrace)
}

// shims says how much shim goes from one side to the other.
func shims(c canvas, a analysis.Advice) {
	from, to := "far side", "crown-wheel side"
	if a.ShimMM < 0 {
		from, to = to, from
	}
	c.centre(1, "1. "+from, inkStrong)
	c.centre(2, fmt.Sprintf("take out %.2f mm of shim", math.Abs(a.ShimMM)), inkPlain)
	c.centre(3, "↓ ↓ ↓", inkStop)
	c.centre(4, "2. "+to, inkStrong)
	c.centre(5, fmt.Sprintf("put in %.2f mm", math.Abs(a.ShimMM)), inkPlain)
}

func predictionText(a analysis.Advice) string {
	if math.IsNaN(a.Predicted) {
		return ""
	}
	return fmt.Sprintf("mean should become %.3f ±%.3f mm", a.Predicted, 2*a.PredictedU)
}

func gainText(a analysis.Advice) string {
	if !a.SignKnown {
		return "the first move shows which way it goes"
	}
	return fmt.Sprintf("%.3f ±%.3f mm a notch, learned", math.Abs(a.Gain), 2*a.GainU)
}
