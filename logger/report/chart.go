package report

import (
	"math"

	"crownlog/analysis/gum"
)

// A chart is a drawing with a value scale on the left.
type chart struct {
	*drawing
	left, right, top, bottom float64 // edges of the field
	y                        scale
}

// The usual size of a chart.
const (
	chartWidth  = 270
	chartHeight = 118
)

// newChart rules a field of the given size for values from low to high, with
// the unit above the scale.
func newChart(width, height, low, high float64, unit, title, desc string) chart {
	c := chart{
		drawing: &drawing{width: width, height: height, title: title, desc: desc},
		left:    46, right: width - 12, top: 22, bottom: height - 34,
	}
	c.y = newScale(low, high, c.bottom, c.top, 4)
	c.write(inkSoft, label{at: point{c.left, c.top - 9}, size: 10, text: unit})
	return c
}

// grid draws the scale's lines and figures; draw bands before it.
func (c chart) grid() {
	for _, t := range c.y.ticks {
		y := c.y.at(t)
		c.line(inkHair, point{c.left, y}, point{c.right, y})
		c.write(inkSoft, label{at: point{c.left - 5, y + 3.5}, anchor: anchorEnd, size: 10, text: c.y.figure(t)})
	}
	c.line(inkAxis, point{c.left, c.top}, point{c.left, c.bottom})
	c.line(inkAxis, point{c.left, c.bottom}, point{c.right, c.bottom})
}

// under writes a figure below the field at x.
func (c chart) under(x float64, text string, bold bool) {
	i := inkSoft
	if bold {
		i = inkText
	}
	c.write(i, label{at: point{x, c.bottom + 13}, anchor: anchorMiddle, size: 10, bold: bold, text: text})
}

// axis names the lower axis.
func (c chart) axis(text string) {
	c.write(inkSoft, label{at: point{(c.left + c.right) / 2, c.bottom + 28}, anchor: anchorMiddle, size: 10, text: text})
}

// band shades the field between two limits.
func (c chart) band(l gum.Limits) {
	if !l.Any() {
		return
	}
	bottom, top := c.y.window(l)
	c.rect(inkBand, c.left, top, c.right-c.left, bottom-top)
	for _, v := range []float64{l.Upper, l.Lower} {
		if y := c.y.at(v); !math.IsNaN(y) {
			c.line(inkLimit, point{c.left, y}, point{c.right, y})
		}
	}
}

// column is the middle of the i-th of n columns, and the width of one.
func (c chart) column(i, n int) (middle, width float64) {
	width = (c.right - c.left) / float64(n)
	return c.left + (float64(i)+0.5)*width, width
}
