package report

import (
	"cmp"
	"math"
	"strconv"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// The picture of a wheel is square, with the scale between two radii.
const (
	wheelSide   = 300.0
	wheelInner  = 34.0
	wheelOuter  = 104.0
	wheelMark   = 5.4  // radius of a verdict's shape
	wheelLetter = 12.0 // size of a position's number
)

// hub is the middle of a wheel.
var hub = point{wheelSide / 2, wheelSide / 2}

// mostNumbers is how many positions are numbered around a picture.
const mostNumbers = 14

// fitted is the mean of the places with the once and the twice per turn part at
// every third degree; empty where neither is known.
func (m Measured) fitted() []float64 {
	var fit analysis.HarmonicFit
	h1, h2 := m.harmonics()
	for i, h := range []*analysis.Harmonic{h1, h2} {
		if h != nil {
			fit.Orders, fit.Harmonics = append(fit.Orders, i+1), append(fit.Harmonics, *h)
		}
	}
	if fit.Orders == nil {
		return nil
	}
	if len(m.places()) > 0 { // a continuous turn has no places, and no mean
		fit.Mean = m.Round.Mean
	}
	curve := make([]float64, 120)
	for i := range curve {
		curve[i] = fit.At(3 * float64(i))
	}
	return curve
}

// wheelScale is one radial scale for all of ms: every value with its uncertainty, the
// fitted curve and the window of a backlash fit in.
func wheelScale(ms ...Measured) scale {
	var vs []float64
	for _, m := range ms {
		if m.Feature == record.FeatureBacklash {
			vs = append(vs, m.Spec.Limits.Lower, m.Spec.Limits.Upper)
		}
		for _, p := range m.places() {
			v, u := p.Capture.Value, gum.Coverage*p.Capture.U
			vs = append(vs, v, v-u, v+u)
		}
		vs = append(vs, m.fitted()...)
	}
	low, high := extent(vs)
	margin := 0.06 * (high - low)
	return newScale(low-margin, high+margin, wheelInner, wheelOuter, 4)
}

// wheel draws what was measured around the wheel: position 1 at the top, angles
// clockwise, the radius is the value, the shaded ring is a backlash's window, and
// the curve is the once and twice per turn part. The rounds before are drawn thin and
// dashed behind it.
func (d Data) wheel(m Measured, before []Measured) *drawing {
	s := wheelScale(append([]Measured{m}, before...)...)
	w := &drawing{width: wheelSide, height: wheelSide, title: upperFirst(m.title()) + ", " + stageTitle(m.Stage)}
	w.desc = upperFirst(d.text(m)) + ". Position 1 is at the top and the numbers run clockwise."
	if m.Feature == record.FeatureBacklash {
		w.windowRing(m.Spec.Limits, s)
	}
	for _, t := range s.ticks {
		w.circle(inkHair, hub, s.at(t))
	}
	places := m.places()
	every := (len(places) + mostNumbers - 1) / mostNumbers
	size := wheelMark
	if len(places) > 2*mostNumbers {
		size *= 0.7
	}
	for i, p := range places {
		if c := p.Capture; i%every == 0 {
			w.line(inkHair, polar(hub, wheelInner, c.AngleDeg), polar(hub, wheelOuter, c.AngleDeg))
			at := polar(hub, wheelOuter+1.9*wheelLetter, c.AngleDeg)
			w.write(inkText, anchorMiddle, wheelLetter, at.x, at.y-0.24*wheelLetter, strconv.Itoa(c.Position))
			w.write(inkSoft, anchorMiddle, wheelLetter, at.x, at.y+0.96*wheelLetter, m.Format.figure(c.Value))
		}
	}
	for _, b := range before {
		ps := Each(b.places(), func(p feature.Result) point { return polar(hub, s.at(p.Capture.Value), p.Capture.AngleDeg) })
		w.polyline(inkGhost, ps, len(ps) > 2)
	}
	var curve []point
	for i, v := range m.fitted() {
		curve = append(curve, polar(hub, s.at(v), 3*float64(i)))
	}
	w.polyline(inkCurve, curve, true)
	for _, p := range places {
		v, u, deg := p.Capture.Value, gum.Coverage*p.Capture.U, p.Capture.AngleDeg
		if u > 0 {
			w.line(inkWhisker, polar(hub, s.at(v-u), deg), polar(hub, s.at(v+u), deg))
		}
		w.verdictMark(p.Verdict, polar(hub, s.at(v), deg), size)
	}
	w.radialFigures(s, 180/float64(cmp.Or(len(places), 8)))
	w.circle(ink{fill: colourInk}, hub, 1.6)
	return w
}

// windowRing shades the window; an open side reaches the edge of the scale.
func (d *drawing) windowRing(l gum.Limits, s scale) {
	edge := func(limit, open float64) float64 {
		if math.IsNaN(limit) {
			return open
		}
		d.circle(inkLimit, hub, s.at(limit))
		return s.at(limit)
	}
	if inner, outer := edge(l.Lower, s.from), edge(l.Upper, s.to); l.Any() { // a band is a circle with a line as thick
		d.circle(ink{stroke: colourBand, width: outer - inner}, hub, (inner+outer)/2)
	}
}

// radialFigures names the rings along a ray between two positions.
func (d *drawing) radialFigures(s scale, deg float64) {
	const size = 0.75 * wheelLetter
	for _, t := range s.ticks {
		at, text := polar(hub, s.at(t), deg), s.figure(t)
		w := 0.56 * size * float64(len(text))
		d.rect(ink{fill: colourPaper}, at.x-w/2-1, at.y-0.5*size, w+2, size)
		d.write(inkSoft, anchorMiddle, size, at.x, at.y+0.36*size, text)
	}
}
