package dashboard

import (
	"fmt"
	"strings"

	"crownlog/logger"
	"crownlog/logger/words"
)

// adjusterRows is the least height of the picture of a move.
const adjusterRows = 9

// adjusters draws a move: what the hands do to the rings one after the other, or
// the shims to change over, what it should give, and what the move before gave.
func adjusters(c canvas, v logger.View, moves []string) {
	a, orders := *v.Move, words.Orders(*v.Move)
	high := min(c.h-4, 19)
	top := (c.h - high - 4) / 2
	third := c.w / len(orders)
	for i, o := range orders {
		name := fmt.Sprintf("%d %s", i+1, strings.TrimSuffix(words.Side(o.Near), " side"))
		if a.Shims {
			c.centre(top+3*i+1, name, inkStrong)
			c.centre(top+3*i+2, clip(o.Does, c.w), inkPlain)
			continue
		}
		ring := c.pane(i*third, top+1, third, high)
		ring.centre(0, name, inkStrong)
		faced(ring.pane(0, 1, third, high-1), o.Does)
	}
	if !a.Shims {
		c.centre(top, words.Given(a.Capped, "locks off, caps snug; ")+"each as you face it", inkFaint)
	}
	below := column{c.pane(0, top+high+1, c.w, 3), 0}
	if n := len(moves); n > 0 {
		below.say("last "+moves[n-1], inkPlain)
	}
	below.say(strings.TrimPrefix(v.Advice, v.Action), inkPlain)
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
	d.ellipse(float64(c.w), float64(up), float64(across), float64(up))
	f := min(c.fit(says, across, c.h/3), 1)
	c.write((c.w-f.wide(says))/2, (c.h-f.high()+1)/2, says, f, inkStrong)
	c.centre(0, strings.Repeat(head, 3), inkDoubt)
	d.draw(c, inkInside)
}
