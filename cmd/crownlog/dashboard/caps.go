package dashboard

import "strings"

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
