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
// Source: JCGM 101:2008, 5.2 (propagation of distributions), in closed form; 9.2.3
// and 9.2.4 are its checks.
func Convolved(sigma float64, halfWidths ...float64) float64 {
	return convolved(usually, sigma, halfWidths...)
}

// convolved is Convolved for another probability. The distribution function of the
// sum is the n-th integral of that of the normal quantity, at all sums of the n half
// widths with either sign, over their product: own derivation, by induction.
func convolved(p, sigma float64, halfWidths ...float64) float64 {
	reach := 5 * sigma
	for _, a := range halfWidths {
		reach += a
	}
	var wide []float64
	for _, a := range halfWidths {
		if a > reach/500 {
			wide = append(wide, a)
		} else { // too thin to show its edges, and to divide by
			sigma = math.Hypot(sigma, Rectangular(a))
		}
	}
	held := func(x float64) float64 {
		sum := 0.0
		for signs := range 1 << len(wide) {
			at, term := x, 1.0
			for i, a := range wide {
				term /= 2 * a
				if signs>>i&1 == 1 {
					a, term = -a, -term
				}
				at += a
			}
			sum += term * integral(len(wide), at, sigma)
		}
		return sum
	}
	const fine = 1 << 30
	at := func(i int) float64 { return reach * float64(i) / fine }
	return at(sort.Search(fine, func(i int) bool { return 2*held(at(i))-1 >= p }))
}

// integral is the n-th integral of the distribution function of a normal quantity
// up to x, by parts; of one without scatter, of a step; -1 gives its density.
func integral(n int, x, sigma float64) float64 {
	switch {
	case sigma == 0 && (n < 0 || x <= 0):
		return 0
	case n < 0:
		return normal.Prob(x/sigma) / sigma
	case n == 0:
		return normal.CDF(x / sigma) // of a step: of infinity
	}
	return (x*integral(n-1, x, sigma) + sigma*sigma*integral(n-2, x, sigma)) / float64(n)
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
	{0, 1, 1}, {0.1, 0.9995, 1}, {0.2, 0.9976, 1}, {0.3, 0.9939, 0.9998}, {0.4, 0.9876, 0.9984}, {0.5, 0.9783, 0.9955}, {0.6, 0.9653, 0.9905},
	{0.7, 0.9476, 0.9828}, {0.8, 0.9236, 0.9717}, {0.9, 0.8897, 0.9563}, {0.95, 0.8663, 0.9474}, {0.98, 0.8487, 0.9435}, {1, 0.8395, 0.9477},
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
