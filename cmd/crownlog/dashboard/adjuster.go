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

// caps draws the bolts of two bearing caps as they stand: the first half of them
// down the left cap, the others down the right one.
func caps(c canvas, marks []ringMark, big, small string) {
	each := len(marks) / 2
	wide, high := c.w/2-1, min(c.h-3, 2*each+3)
	top := (c.h - high - 2) / 2
	for i, m := range marks {
		side, down := i/each, i%each
		box := c.pane(side*(wide+2), top, wide, high)
		if down == 0 {
			box.frame([]string{"left cap", "right cap"}[side])
		}
		k := m.k
		if m.current {
			k = inkCurrent
		}
		y := 1 + (2*down+1)*(high-2)/(2*each)
		box.text(3-textWidth(m.mark)/2, y, m.mark, k)
		box.text(5, y, clip(strings.TrimSpace(m.name+" "+m.value), wide-6), k)
	}
	c.centre(top+high, big+"  "+small, inkStrong)
}

// frame draws a box round c with its name at the top.
func (c canvas) frame(name string) {
	line := strings.Repeat("─", max(c.w-2, 0))
	c.text(0, 0, "┌"+line+"┐", inkFaint)
	for y := 1; y < c.h-1; y++ {
		c.text(0, y, "│", inkFaint)
		c.text(c.w-1, y, "│", inkFaint)
	}
	c.text(0, c.h-1, "└"+line+"┘", inkFaint)
	c.centre(0, " "+name+" ", inkStrong)
}
