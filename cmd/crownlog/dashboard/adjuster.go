package dashboard

import (
	"fmt"
	"math"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/logger/job"
	"crownlog/logger/words"
)

// adjusterRows is the least height of the picture of a move.
const adjusterRows = 9

// adjusters draws a move: what the hands do to the rings one after the other, or
// the shims to change over, what it should give, and what the move before gave.
func adjusters(c canvas, a setup.Advice, moves []job.MoveResult) {
	below := 2 + min(len(moves), 1)
	high := min(c.h-below-1, 19)
	c = c.pane(0, (c.h-high-below-1)/2, c.w, high+below+1)
	orders := words.Orders(a)
	third := c.w / len(orders)
	for i, o := range orders {
		name := fmt.Sprintf("%d %s", i+1, words.Side(o.Near))
		if a.Shims {
			c.centre(3*i+1, name, inkStrong)
			c.centre(3*i+2, clip(o.Does, c.w), inkPlain)
			continue
		}
		if textWidth(name) > third {
			name = strings.TrimSuffix(name, " side")
		}
		ring := c.pane(i*third, 1, third, high)
		ring.centre(0, name, inkStrong)
		faced(ring.pane(0, 1, third, high-1), o.Does)
	}
	if !a.Shims {
		c.centre(0, map[bool]string{false: "each as you face it", true: "locks off, caps snug; each as you face it"}[a.Capped], inkFaint)
	}
	c.centre(high+1, clip(predictionText(a), c.w), inkPlain)
	c.centre(high+2, clip(gainText(a), c.w), inkFaint)
	if n := len(moves); n > 0 {
		c.centre(high+3, clip("last "+moveText(moves[n-1]), c.w), inkPlain)
	}
}

// faced draws a ring as one faces it: how far it goes in its middle, the way it
// turns at its top. A right-hand thread goes in clockwise.
func faced(c canvas, says string) {
	head := "←"
	if strings.HasPrefix(says, "IN") {
		head = "→"
	}
	up := 2*c.h - 1 // radius in dots; a dot is as wide as it is high
	across := min(up*8/5, c.w-2)
	d := newDots(c.w, c.h)
	steps := 8 * max(across, 0)
	for i := range steps {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / float64(steps))
		d.set(c.w+int(math.Round(float64(across)*sin)), up-int(math.Round(float64(up)*cos)))
	}
	f := min(c.fit(says, across, c.h/3), 1)
	c.write((c.w-f.wide(says))/2, (c.h-f.high()+1)/2, says, f, inkStrong)
	c.centre(0, strings.Repeat(head, 3), inkStop)
	d.draw(c, inkTrace)
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
	return fmt.Sprintf("%.3f ±%.3f mm a %s, learned", math.Abs(a.Gain), 2*a.GainU, map[bool]string{false: "notch", true: "mm of shim"}[a.Shims])
}
