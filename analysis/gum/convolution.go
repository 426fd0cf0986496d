package gum

import "math"

// Convolved returns half the width of the symmetric interval that holds 95 % of
// the sum of a normal quantity of standard deviation sigma and of rectangles of
// these half widths: what the square root of the sum of squares makes wider than
// the rectangles themselves where one of them outweighs the rest. It is NaN for a
// width that is not a number, and 0 for nothing.
// Source: JCGM 101:2008, 5.2 (propagation of distributions), by numeric
// convolution; 9.2.3 and 9.2.4 are its checks.
func Convolved(sigma float64, halfWidths ...float64) float64 {
	reach := 5 * sigma
	for _, a := range halfWidths {
		reach += a
	}
	if !(reach > 0) || math.IsInf(reach, 1) {
		return reach
	}
	const cells = 4000 // of the whole width: the answer to a thousandth of it and better
	h := 2 * reach / cells
	// held is the distribution function at the edges of the cells.
	held := make([]float64, cells+1)
	for i := range held {
		switch x := float64(i)*h - reach; {
		case sigma > 0:
			held[i] = normal.CDF(x / sigma)
		case i == cells/2:
			held[i] = 0.5
		case i > cells/2:
			held[i] = 1
		}
	}
	for _, a := range halfWidths {
		if a > h/2 { // thinner ones change nothing that the cells show
			held = widened(held, a/h)
		}
	}
	for i := cells / 2; i < cells; i++ {
		low, high := held[i]-held[cells-i], held[i+1]-held[cells-i-1]
		if high >= usually {
			return (float64(i-cells/2) + (usually-low)/(high-low)) * h
		}
	}
	return reach
}

// widened is a distribution function spread over a rectangle of that many cells to
// either side: the mean of the function over it.
func widened(held []float64, cells float64) []float64 {
	area := make([]float64, len(held)) // under the function, by trapezoids
	for i := 1; i < len(held); i++ {
		area[i] = area[i-1] + (held[i-1]+held[i])/2
	}
	last := float64(len(held) - 1)
	at := func(x float64) float64 {
		switch {
		case x <= 0:
			return 0
		case x >= last:
			return area[len(area)-1] + x - last // beyond the cells the function is 1
		}
		i := int(x)
		return area[i] + (x-float64(i))*(area[i+1]-area[i])
	}
	wide := make([]float64, len(held))
	for i := range wide {
		wide[i] = (at(float64(i)+cells) - at(float64(i)-cells)) / (2 * cells)
	}
	return wide
}
