package dashboard

import (
	"cmp"
	"math"
	"strconv"
	"strings"

	"crownlog/analysis/units"
	"crownlog/logger"
)

// A ringMark is one position on the ring, clockwise from the top.
type ringMark struct {
	deg     float64
	name    string // shown until there is a value
	value   string // "" not measured
	mark    string // what stands for it; the current one is in brackets
	k       ink
	current bool
}

// ringMarks turns the positions of a round into marks. A bolt that lacks passes is
// a circle as far filled as they are done.
func ringMarks(ps []logger.PositionView, decimals int) []ringMark {
	marks := make([]ringMark, len(ps))
	angles := logger.RingAngles(ps)
	for i, p := range ps {
		m := ringMark{deg: angles[i], current: p.Current, name: strconv.Itoa(p.Index), value: p.Word, mark: "○", k: inkFaint}
		if !math.IsNaN(p.Value) {
			m.value = units.Fixed(p.Value, decimals)
		}
		look := verdictLooks[p.Verdict]
		if m.value != "" {
			m.mark, m.k = string(look.mark), look.k
		}
		if m.value != "" && p.Pulled < p.Pulls {
			m.mark = string([]rune("◔◑◕")[max(1, 4*p.Pulled/p.Pulls)-1])
		}
		if p.Current {
			m.mark = "[" + m.mark + "]"
		}
		marks[i] = m
	}
	return marks
}

// ring draws the wheel with its marks and, in its middle, the big word and a
// line below it. Values are expected to be up to label characters wide, so that
// the wheel keeps its size while they come in.
func ring(c canvas, marks []ringMark, label int, big, small string) {
	g := ringShape(c, label, len(marks))
	if g.r < 2 {
		return
	}
	for _, m := range marks {
		g.place(m)
	}
	g.middle(big, small)
	for _, current := range []bool{true, false} { // the current label finds room first
		for _, m := range marks {
			if m.current == current {
				g.label(m)
			}
		}
	}
	d := newDots(c.w, c.h) // the wheel itself, where nothing else stands
	d.ellipse(2*g.cx+0.5, 4*g.cy+1.5, 4*g.r, 4*g.r)
	d.draw(c, inkFaint)
}

// A circleShape is the ring on the cells: a row is as high as two columns are
// wide, so r counts rows across and up alike. A large one has its marks and
// values in block letters.
type circleShape struct {
	canvas
	cx, cy, r float64
	rows      int // of a mark or a value
}

// ringShape fits a ring of n marks with labels of the given width into c.
func ringShape(c canvas, label, n int) circleShape {
	g := circleShape{canvas: c, cx: float64(c.w-1) / 2, cy: float64(c.h-1) / 2, rows: 1}
	side, above := label+2, 0
	switch {
	case c.h >= 26 && c.w >= 70 && n <= 12 && !c.ascii:
		g.rows = face(1).high()
		side, above = 4*label+2, g.rows
	case c.h >= 14:
		above = 1
	}
	g.r = math.Min(float64(c.w-2*side-1)/4, float64(c.h-1)/2-float64(above))
	return g
}

// cell returns the cell at an angle, clockwise from the top.
func (g circleShape) cell(deg float64) (x, y int) { return onEllipse(g.cx, g.cy, 2*g.r, g.r, deg) }

// size is the cells a text of this ring takes, and its face.
func (g circleShape) size(s string) (w, h int, f face) {
	f = g.fit(s, g.w, g.rows)
	return f.wide(s), f.high(), f
}

// put draws a text with its upper left at x, y, and keeps the circle off it and, by
// a margin, other texts.
func (g circleShape) put(x, y, margin int, s string, f face, k ink) {
	g.write(x, y, s, f, k)
	for row := y; row < y+f.high(); row++ {
		for col := x - margin; col < x+f.wide(s)+margin; col++ {
			if g.blank(col, row, 1, 1) {
				g.set(col, row, ' ', inkPlain)
			}
		}
	}
}

// place draws what stands for one position.
func (g circleShape) place(m ringMark) {
	k := m.k
	switch {
	case m.current && g.rows == 1:
		k = inkCurrent
	case m.current && m.value == "":
		k = inkStrong
	}
	x, y := g.cell(m.deg)
	w, h, f := g.size(m.mark)
	g.put(x-w/2, y-h/2, 0, m.mark, f, k)
}

// label writes the value, or the name until there is one, beside its mark
// where there is room, if need be with the leading zero left out.
func (g circleShape) label(m ringMark) {
	s, k := cmp.Or(m.value, m.name), m.k
	if m.current {
		k = inkStrong
	}
	for _, s := range []string{s, strings.Replace(s, "0.", ".", 1)} {
		if x, y, ok := g.room(m, s); ok {
			_, _, f := g.size(s)
			g.put(x, y, 1, s, f, k)
			return
		}
	}
}

// room looks for the cells of s beside a mark: outside, above or below, inside.
func (g circleShape) room(m ringMark, s string) (x, y int, ok bool) {
	mx, my := g.cell(m.deg)
	w, h, _ := g.size(s)
	mw, mh, _ := g.size(m.mark)
	sin, cos := math.Sincos(m.deg * math.Pi / 180)
	outer, inner, toward := mx-mw/2+mw+1, mx-mw/2-1-w, -1
	if sin < -0.01 {
		outer, inner, toward = inner, outer, 1
	}
	level, up, down := my-h/2, my-mh/2-h, my-mh/2+mh
	if cos < 0 {
		up, down = down, up
	}
	middle := mx - w/2
	spots := [][2]int{{outer, level}, {outer + toward, level}, {middle, up}, {outer, up}, {outer, down}, {middle, down}, {inner, level}}
	if math.Abs(sin) < 0.35 {
		spots = [][2]int{{middle, up}, {outer, level}, {inner, level}, {middle, down}}
	}
	for _, at := range spots {
		if g.blank(at[0], at[1], w, h) {
			return at[0], at[1], true
		}
	}
	return 0, 0, false
}

// middle writes what the ring is about inside it.
func (g circleShape) middle(big, small string) {
	inner, rows := int(2.4*g.r), int(1.1*g.r)
	cx, cy := int(math.Round(g.cx)), int(math.Round(g.cy))
	f := g.fit(big, inner, face(rows*2/(letterRows+2)).high()) // with room for the line below
	top := cy - (f.high()+1)/2
	g.put(cx-f.wide(big)/2, top, 1, big, f, inkStrong)
	small = clip(small, inner+2)
	g.put(cx-textWidth(small)/2, top+f.high(), 1, small, 0, inkFaint)
}
