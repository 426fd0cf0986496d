package gum

import (
	"math"
	"sort"
)

// Convolved returns half the width of the symmetric interval that holds 95 % of
// the sum of a normal quantity of standard deviation sigma and of rectangles of
// these half widths: what the square root of the sum of squares makes wider than
// the rectangles themselves where one of them outweighs the rest. It is NaN for a
// width that is not a number, and 0 for nothing.
// Source: JCGM 101:2008, 5.2 (propagation of distributions), by numeric
// convolution; 9.2.3 and 9.2.4 are its checks.
func Convolved(sigma float64, halfWidths ...float64) float64 {
	return convolved(usually, sigma, halfWidths...)
}

// convolved is Convolved for another probability.
func convolved(p, sigma float64, halfWidths ...float64) float64 {
	reach := 5 * sigma
	for _, a := range halfWidths {
		reach += a
	}
	if !(reach > 0) || math.IsInf(reach, 1) {
		return reach
	}
	const cells = 1000 // of the whole width: the answer to a thousandth of it and better
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
		if high >= p {
			return (float64(i-cells/2) + (p-low)/(high-low)) * h
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

// A shape is a normal quantity and a rectangle together, beside a normal one of
// the same deviation.
type shape struct {
	share    float64 // of the variance that is the rectangle's
	two, one float64 // the two-sided and the one-sided 95 % point over those of the normal one
}

type shapeTable []shape

// shapes are those by share, from none to all, as convolved gives them.
var shapes = shapeTable{
	{0, 1, 1}, {0.1, 0.9995, 1}, {0.2, 0.9977, 1}, {0.3, 0.9939, 0.9998}, {0.4, 0.9876, 0.9984}, {0.5, 0.9783, 0.9955}, {0.6, 0.9653, 0.9905},
	{0.7, 0.9476, 0.9828}, {0.8, 0.9236, 0.9717}, {0.9, 0.8898, 0.9563}, {0.95, 0.8663, 0.9474}, {0.98, 0.8487, 0.9435}, {1, 0.8395, 0.9477},
}

// even is the rectangle's standard deviation over the stated one.
func (s shape) even() float64 { return math.Sqrt(s.share) / s.two }

// at is the shape of which by, which grows along the table, says x.
func (t shapeTable) at(by func(shape) float64, x float64) shape {
	i := sort.Search(len(t), func(i int) bool { return by(t[i]) >= x })
	if i == 0 || i == len(t) {
		return t[min(i, len(t)-1)]
	}
	a, b := t[i-1], t[i]
	r := (x - by(a)) / (by(b) - by(a))
	return shape{a.share + r*(b.share-a.share), a.two + r*(b.two-a.two), a.one + r*(b.one-a.one)}
}

// Guarding returns the standard uncertainty to judge a value by, 1.65 times which
// covers 95 % to one side, when stated is that to keep with it, as Budget.Stated
// gives it, and even that of the widest rectangle behind it; 0 or NaN: there is
// none, or it is not known.
func Guarding(stated, even float64) float64 {
	if !(even > 0) || !(stated > 0) {
		return stated
	}
	s := shapes.at(shape.even, even/stated)
	return stated * s.one / s.two
}
