package report

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

// newChart rules a field for values from low to high, with the unit above the scale.
func newChart(low, high float64, unit, title, desc string) chart {
	const width, height = chartWidth, chartHeight
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
func (c chart) under(x float64, text string) {
	c.write(inkSoft, label{at: point{x, c.bottom + 13}, anchor: anchorMiddle, size: 10, text: text})
}

// axis names the lower axis.
func (c chart) axis(text string) {
	c.write(inkSoft, label{at: point{(c.left + c.right) / 2, c.bottom + 28}, anchor: anchorMiddle, size: 10, text: text})
}
