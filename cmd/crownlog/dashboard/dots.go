package dashboard

import "math"

// dots is a picture of 2 by 4 dots a cell, drawn with braille characters or,
// on a canvas of ASCII only, with marks at the height of the dots.
type dots struct {
	w, h int // cells
	bits []uint8
}

func newDots(w, h int) dots { return dots{w, h, make([]uint8, max(w, 0)*max(h, 0))} }

// dotBit is the bit of a braille character for the dot at column x and row y
// of its cell. Source: Unicode 16, chapter 21, Braille Patterns (dots 1-8).
var dotBit = [4][2]uint8{{0x01, 0x08}, {0x02, 0x10}, {0x04, 0x20}, {0x40, 0x80}}

// set lights the dot at x, y; dots outside are left out.
func (d dots) set(x, y int) {
	if x < 0 || y < 0 || x >= 2*d.w || y >= 4*d.h {
		return
	}
	d.bits[y/4*d.w+x/2] |= dotBit[y%4][x%2]
}

// line lights the dots from x0, y0 to x1, y1.
func (d dots) line(x0, y0, x1, y1 int) {
	n := max(x1-x0, x0-x1, y1-y0, y0-y1, 1)
	for i := range n + 1 {
		d.set(x0+(x1-x0)*i/n, y0+(y1-y0)*i/n)
	}
}

// ellipse lights the dots of an ellipse about cx, cy.
func (d dots) ellipse(cx, cy, across, up float64) {
	steps := 8 * max(across, up)
	for i := range int(steps) {
		d.set(onEllipse(cx, cy, across, up, 360*float64(i)/steps))
	}
}

// onEllipse is the place at an angle, clockwise from the top, on an ellipse about
// cx, cy.
func onEllipse(cx, cy, across, up, deg float64) (x, y int) {
	sin, cos := math.Sincos(deg * math.Pi / 180)
	return int(math.Round(cx + across*sin)), int(math.Round(cy - up*cos))
}

// draw puts the picture on the blank cells of c.
func (d dots) draw(c canvas, k ink) {
	for y := range d.h {
		for x := range d.w {
			b, p := d.bits[y*d.w+x], c.at(x, y)
			if b != 0 && p != nil && p.r == 0 {
				*p = cell{dotRune(b, c.ascii), k}
			}
		}
	}
}

// dotRune is the character for a cell's dots.
func dotRune(b uint8, ascii bool) rune {
	if !ascii {
		return 0x2800 + rune(b)
	}
	half := 0
	if b&(0x01|0x08|0x02|0x10) != 0 {
		half = 1
	}
	if b&(0x04|0x20|0x40|0x80) != 0 {
		half += 2
	}
	return rune(" '.:"[half])
}
