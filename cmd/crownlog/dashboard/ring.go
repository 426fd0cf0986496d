package dashboard

import (
	"math"
	"strconv"
	"strings"

	"crownlog/analysis"
	"crownlog/logger"
)

// A ringMark is one position on the ring, clockwise from the top.
type ringMark struct {
	deg     float64
	name    string // shown until there is a value
	value   string // "" not measured
	verdict analysis.Verdict
	current bool
}

// ringMarks turns the positions of a round into marks at their true angles.
// Positions without an angle, such as bolts, stand evenly.
func ringMarks(ps []logger.PositionView, decimals int) []ringMark {
	marks := make([]ringMark, len(ps))
	even := !trueAngles(ps)
	for i, p := range ps {
		m := ringMark{deg: p.AngleDeg, verdict: p.Verdict, current: p.Current, name: strconv.Itoa(p.Index)}
		if even {
			m.deg = 360 * float64(p.Index-1) / float64(len(ps))
		}
		if !math.IsNaN(p.Value) {
			m.value = short(p.Value, decimals)
		}
		marks[i] = m
	}
	return marks
}

// trueAngles reports whether every position has an angle of its own.
func trueAngles(ps []logger.PositionView) bool {
	seen := make(map[float64]bool, len(ps))
	for _, p := range ps {
		a := math.Mod(p.AngleDeg, 360)
		if math.IsNaN(a) || seen[a] {
			return false
		}
		seen[a] = true
	}
	return true
}

// ring draws the wheel with its marks and, in its middle, the big word and a
// line below it. Values are expected to be up to label columns wide, so that
// the wheel keeps its size while they come in.
func ring(c canvas, marks []ringMark, label int, big, small string) {
	for _, m := range marks {
		label = max(label, textWidth(m.value))
	}
	g := ringShape(c, label)
	if g.r < 2 {
		return
	}
	for _, m := range marks {
		g.mark(c, m)
	}
	g.middle(c, big, small)
	for _, current := range []bool{true, false} { // the current label finds room first
		for _, m := range marks {
			if m.current == current {
				g.label(c, m)
			}
		}
	}
	g.circle(c, marks)
}

// A circleShape is the ring on the cells: a row is as high as two columns are
// wide, so r counts rows across and up alike.
type circleShape struct {
	cx, cy, r float64
}

// ringShape fits a ring with labels of the given width into c.
func ringShape(c canvas, label int) circleShape {
	across := float64(c.w-2*(label+2)-1) / 4
	up := float64(c.h-1) / 2
	if c.h >= 14 {
		up-- // a row above and below for labels
	}
	return circleShape{cx: float64(c.w-1) / 2, cy: float64(c.h-1) / 2, r: math.Min(across, up)}
}

// cell returns the cell at an angle, clockwise from the top, and a share of
// the radius.
func (g circleShape) cell(deg, share float64) (x, y int) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return int(math.Round(g.cx + 2*g.r*share*sin)), int(math.Round(g.cy - g.r*share*cos))
}

// mark draws the shape of one position; the current one stands in brackets.
func (g circleShape) mark(c canvas, m ringMark) {
	x, y := g.cell(m.deg, 1)
	r, k := '○', inkFaint
	if m.value != "" {
		r, k = verdictMark(m.verdict), verdictInk(m.verdict)
	}
	if m.current {
		c.text(x-1, y, "["+string(r)+"]", inkCurrent)
		return
	}
	c.text(x, y, string(r), k)
}

// label writes the value, or the name until there is one, beside its mark
// where there is room: outside, above or below, inside, and then with the
// leading zero left out.
func (g circleShape) label(c canvas, m ringMark) {
	s, k := m.name, inkFaint
	if m.value != "" {
		s, k = m.value, verdictInk(m.verdict)
	}
	if m.current {
		k = inkCurrent
	}
	for _, s := range []string{s, strings.Replace(s, "0.", ".", 1)} {
		if x, y, ok := g.room(c, m, textWidth(s)); ok {
			c.text(x, y, s, k)
			for _, end := range []int{x - 1, x + textWidth(s)} {
				if c.blank(end, y, 1) {
					c.set(end, y, ' ', inkPlain) // keeps the circle off the number
				}
			}
			return
		}
	}
}

// room looks for n free cells beside a mark.
func (g circleShape) room(c canvas, m ringMark, n int) (x, y int, ok bool) {
	mx, my := g.cell(m.deg, 1)
	reach := 1
	if m.current {
		reach = 2
	}
	sin, cos := math.Sincos(m.deg * math.Pi / 180)
	right, left := mx+reach+1, mx-reach-n
	above, below := my-1, my+1
	outer, inner := right, left
	if sin < -0.01 {
		outer, inner = left, right
	}
	up, down := above, below
	if cos < 0 {
		up, down = below, above
	}
	type spot struct{ x, y int }
	tight := outer - 1 // against the brackets of the current mark
	if sin < -0.01 {
		tight = outer + 1
	}
	spots := []spot{{outer, my}, {tight, my}, {mx - n/2, up}, {outer, up}, {outer, down}, {mx - n/2, down}, {inner, my}}
	if math.Abs(sin) < 0.35 {
		spots = []spot{{mx - n/2, up}, {outer, my}, {inner, my}, {mx - n/2, down}}
	}
	for _, at := range spots {
		if c.blank(at.x, at.y, n) && apart(c, at.x, at.y, n) {
			return at.x, at.y, true
		}
	}
	return 0, 0, false
}

// apart reports whether no letter touches the n cells at either end, so that
// two labels never read as one number.
func apart(c canvas, x, y, n int) bool {
	for _, i := range []int{x - 1, x + n} {
		if p := c.at(i, y); p != nil && (p.r >= '0' && p.r <= '9' || p.r == '.') {
			return false
		}
	}
	return true
}

// middle writes what the ring is about inside it.
func (g circleShape) middle(c canvas, big, small string) {
	inner := int(2.4 * g.r)
	rows := int(1.1 * g.r)
	cx, cy := int(math.Round(g.cx)), int(math.Round(g.cy))
	scale := 0
	for n := rows * 2 / (letterRows + 2); n >= 1; n-- {
		if w, ok := lettersWide(big, n); ok && w <= inner && !c.ascii {
			scale = n
			break
		}
	}
	high := 1
	if scale > 0 {
		high = lettersHigh(scale)
	}
	top := cy - (high+1)/2
	if scale > 0 {
		w, _ := lettersWide(big, scale)
		bigText(c.pane(cx-w/2, top, w, high), big, scale, inkStrong)
	} else {
		c.text(cx-textWidth(big)/2, top, big, inkStrong)
	}
	small = clip(small, inner+2, c.ascii)
	c.text(cx-textWidth(small)/2, top+high, small, inkFaint)
}

// circle draws the wheel itself where nothing else stands, with a tooth at
// every mark and a pointer at the current one.
func (g circleShape) circle(c canvas, marks []ringMark) {
	d := newDots(c.w, c.h)
	at := func(deg, share float64) (int, int) {
		sin, cos := math.Sincos(deg * math.Pi / 180)
		return int(math.Round(2*g.cx + 0.5 + 4*g.r*share*sin)), int(math.Round(4*g.cy + 1.5 - 4*g.r*share*cos))
	}
	steps := int(16 * math.Pi * g.r)
	for i := range steps {
		d.set(at(360*float64(i)/float64(steps), 1))
	}
	for _, m := range marks {
		if m.current {
			x0, y0 := at(m.deg, 0.72)
			x1, y1 := at(m.deg, 0.9)
			d.line(x0, y0, x1, y1)
		}
	}
	d.draw(c, inkFaint)
}
