package dashboard

import (
	"fmt"
	"math"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/logger/job"
)

// adjusterRows is the least height of the picture of a move.
const adjusterRows = 9

// A turn is one half of a move: which adjuster, out or in, and how many
// notches.
type turn struct {
	near    bool // the adjuster on the crown-wheel side
	in      bool
	notches float64
}

// turns splits a move into what the hands do, the loosening side first.
// Positive notches bring the crown wheel towards the pinion: the far adjuster
// comes out and the one on the crown-wheel side follows in.
func turns(notches float64) [2]turn {
	n := math.Abs(notches)
	return [2]turn{{near: notches < 0, notches: n}, {near: notches > 0, in: true, notches: n}}
}

// clockwise is the way the adjuster turns seen from the crown-wheel side: a
// right-hand thread goes in clockwise seen from its own outside, and the far
// one is seen from its back.
func (t turn) clockwise() bool { return t.near == t.in }

// adjusters draws a move: both adjusters as seen from the crown-wheel side
// with the way they turn, or the shims to change over, what it should give,
// and what the move before gave.
func adjusters(c canvas, a setup.Advice, moves []job.MoveResult) {
	below := 2 + min(len(moves), 1)
	high := min(c.h-below-1, 19)
	c = c.pane(0, (c.h-high-below-1)/2, c.w, high+below+1)
	if a.Notches == 0 {
		shims(c, a)
	} else {
		c.centre(0, "seen from the crown-wheel side", inkFaint)
		half := c.w / 2
		for i, t := range turns(a.Notches) {
			oneAdjuster(c.pane(i*half, 1, half, high), i+1, t)
		}
	}
	c.centre(high+1, clip(predictionText(a), c.w), inkPlain)
	c.centre(high+2, clip(gainText(a), c.w), inkFaint)
	if n := len(moves); n > 0 {
		c.centre(high+3, clip("last "+moveText(moves[n-1]), c.w), inkPlain)
	}
}

// oneAdjuster draws an adjuster from its side of the wheel: what to do inside,
// the way it turns at its top.
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
	disc := c.pane(0, 1, c.w, c.h-1)
	up := 2*disc.h - 1 // radius in dots; a dot is as wide as it is high
	across := min(up*8/5, c.w-2)
	d := newDots(disc.w, disc.h)
	steps := 8 * max(across, 0)
	for i := range steps {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(steps))
		d.set(disc.w+int(math.Round(float64(across)*sin)), up-int(math.Round(float64(up)*cos)))
	}
	says := fmt.Sprintf("%s %g", way, t.notches)
	if w, _ := lettersWide(says, 1); disc.h >= 9 && w <= across && !c.ascii {
		bigText(disc.pane((disc.w-w)/2, (disc.h-lettersHigh(1))/2, w, disc.h), says, 1, inkStrong)
	} else {
		disc.centre(disc.h/2, says, inkStrong)
	}
	disc.centre(0, strings.Repeat(head, 3), inkStop)
	d.draw(disc, inkTrace)
}

// shims says how much shim goes from one side to the other.
func shims(c canvas, a setup.Advice) {
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

func predictionText(a setup.Advice) string {
	if math.IsNaN(a.Predicted) {
		return ""
	}
	return fmt.Sprintf("mean should become %.3f ±%.3f, aim %.3f mm", a.Predicted, 2*a.PredictedU, a.Target)
}

// moveText sets what a move was expected to give beside what it gave.
func moveText(m job.MoveResult) string {
	switch {
	case math.IsNaN(m.Move.After):
		return fmt.Sprintf("%+g: not measured since", m.Move.Steps)
	case math.IsNaN(m.Advised):
		return fmt.Sprintf("%+g: got %.3f", m.Move.Steps, m.Move.After)
	case math.IsNaN(m.U):
		return fmt.Sprintf("%+g: expected %.3f, got %.3f", m.Move.Steps, m.Advised, m.Move.After)
	}
	return fmt.Sprintf("%+g: expected %.3f ±%.3f, got %.3f", m.Move.Steps, m.Advised, 2*m.U, m.Move.After)
}

func gainText(a setup.Advice) string {
	if !a.SignKnown {
		return "the first move shows which way it goes"
	}
	return fmt.Sprintf("%.3f ±%.3f mm a notch, learned", math.Abs(a.Gain), 2*a.GainU)
}
