package report

import (
	"fmt"
	"math"
	"strconv"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
)

// A polarSize lays out a polar picture.
type polarSize struct {
	side    float64 // of the square picture
	outer   float64 // radius of the outermost ring
	inner   float64 // radius of the innermost
	mark    float64
	letter  float64
	figures bool // write each value outside the ring
}

var (
	polarLarge = polarSize{side: 300, outer: 104, inner: 34, mark: 5.4, letter: 12, figures: true}
	polarSmall = polarSize{side: 204, outer: 80, inner: 26, mark: 4.4, letter: 10.5}
)

// backlashScale is the common radial scale of all stages, so that their
// pictures compare: every value with its uncertainty and the window fit in.
func backlashScale(rounds []Round, z polarSize) scale {
	s := newSpan()
	for _, r := range rounds {
		s.add(r.Spec.Limits.Lower, r.Spec.Limits.Upper)
		for _, p := range r.Results {
			v, u := p.Capture.Value, gum.Coverage*p.Capture.U
			s.add(v, v-u, v+u)
		}
	}
	low, high := s.widened(0.06, 0)
	return newScale(low, high, z.inner, z.outer, 4)
}

// polarPicture draws the backlash of r around the wheel: position 1 at the top,
// angles clockwise, the radius is the backlash, the shaded ring is the entered
// window. Rounds in ghosts are drawn thin and dashed behind it.
func polarPicture(r Round, ghosts []Round, s scale, z polarSize) *drawing {
	c := point{z.side / 2, z.side / 2}
	d := &drawing{width: z.side, height: z.side,
		title: "Backlash around the wheel, " + stageTitle(r.Stage), desc: polarWords(r)}
	d.windowRing(c, r.Spec.Limits, s)
	for _, t := range s.ticks {
		d.circle(inkHair, c, s.at(t))
	}
	for _, v := range []float64{r.Spec.Limits.Lower, r.Spec.Limits.Upper} {
		if !math.IsNaN(v) {
			d.circle(inkLimit, c, s.at(v))
		}
	}
	every := (len(r.Results) + mostNumbers - 1) / mostNumbers
	for i, p := range r.Results {
		if i%every == 0 {
			d.line(inkHair, polar(c, z.inner, p.Capture.AngleDeg), polar(c, z.outer, p.Capture.AngleDeg))
			d.number(c, p, r.Format, z, every == 1)
		}
	}
	for _, g := range ghosts {
		d.polyline(inkGhost, roundPoints(c, g, s), len(g.Results) > 2)
	}
	if curve := fittedCurve(c, r, s); len(curve) > 2 {
		d.polyline(inkCurve, curve, true)
	}
	if len(r.Results) > 2*mostNumbers {
		z.mark *= 0.7
	}
	for _, p := range r.Results {
		d.position(c, p, s, z)
	}
	d.radialFigures(c, s, z, freeAngle(r.Results))
	d.circle(ink{fill: colourInk}, c, 1.6)
	return d
}

// windowRing shades the window; an open side reaches the edge of the scale.
func (d *drawing) windowRing(c point, l gum.Limits, s scale) {
	if l.Any() {
		lower, upper := s.window(l)
		d.ring(colourBand, c, lower, upper)
	}
}

// mostNumbers is how many positions are numbered around a picture.
const mostNumbers = 14

// number writes a position's number outside the rings and, on a large picture,
// its value below it.
func (d *drawing) number(c point, p feature.Result, f Format, z polarSize, figures bool) {
	beyond, up := 1.1, -0.36
	if figures = figures && z.figures; figures {
		beyond, up = 1.9, 0.24
	}
	at := polar(c, z.outer+beyond*z.letter, p.Capture.AngleDeg)
	d.write(inkText, label{at: point{at.x, at.y - up*z.letter}, anchor: anchorMiddle, size: z.letter, bold: true, text: strconv.Itoa(p.Capture.Position)})
	if figures {
		d.write(inkSoft, label{at: point{at.x, at.y + 0.96*z.letter}, anchor: anchorMiddle, size: z.letter, text: f.figure(p.Capture.Value)})
	}
}

// position draws one value with its uncertainty.
func (d *drawing) position(c point, p feature.Result, s scale, z polarSize) {
	v, u, deg := p.Capture.Value, gum.Coverage*p.Capture.U, p.Capture.AngleDeg
	if math.IsNaN(v) {
		return
	}
	if !math.IsNaN(u) {
		d.line(inkWhisker, polar(c, s.at(v-u), deg), polar(c, s.at(v+u), deg))
	}
	d.verdictMark(p.Verdict, polar(c, s.at(v), deg), z.mark)
}

// radialFigures names the rings along a ray between two positions.
func (d *drawing) radialFigures(c point, s scale, z polarSize, deg float64) {
	size := 0.75 * z.letter
	every := 1
	if len(s.ticks) > 1 {
		every = int(math.Ceil(1.5 * size / (s.at(s.ticks[1]) - s.at(s.ticks[0]))))
	}
	for i, t := range s.ticks {
		if i%every != 0 {
			continue
		}
		at := polar(c, s.at(t), deg)
		text := s.figure(t)
		w := 0.56 * size * float64(len(text))
		d.rect(ink{fill: colourPaper}, at.x-w/2-1, at.y-0.5*size, w+2, size)
		d.write(inkSoft, label{at: point{at.x, at.y + 0.36*size}, anchor: anchorMiddle, size: size, text: text})
	}
}

// roundPoints is the polygon through the values of r.
func roundPoints(c point, r Round, s scale) []point {
	var ps []point
	for _, p := range r.Results {
		if !math.IsNaN(p.Capture.Value) {
			ps = append(ps, polar(c, s.at(p.Capture.Value), p.Capture.AngleDeg))
		}
	}
	return ps
}

// fittedCurve is the mean with its once and twice per turn parts as a closed
// curve; straight lines between the values where they are not known.
func fittedCurve(c point, r Round, s scale) []point {
	if !r.Round.H2Known || math.IsNaN(r.Round.H1.Amplitude) {
		return roundPoints(c, r, s)
	}
	var ps []point
	for deg := 0.0; deg < 360; deg += 3 {
		v := r.Round.Mean + harmonicAt(&r.Round.H1, 1, deg) + harmonicAt(&r.Round.H2, 2, deg)
		ps = append(ps, polar(c, s.at(v), deg))
	}
	return ps
}

// harmonicAt is the value of a harmonic of the given order at an angle, from
// its amplitude and the angle of its first high spot; 0 of one that is not known.
func harmonicAt(h *analysis.Harmonic, order, deg float64) float64 {
	if h == nil {
		return 0
	}
	return h.Amplitude * math.Cos(order*(deg-h.PhaseDeg)*math.Pi/180)
}

// freeAngle is halfway from the top to the first position after it, where figures
// along a ray cover no mark and stand above one another.
func freeAngle(ps []feature.Result) float64 {
	first := 90.0
	for _, p := range ps {
		if a := p.Capture.AngleDeg; a > 1 {
			first = math.Min(first, a)
		}
	}
	return first / 2
}

// polarWords says what the picture shows.
func polarWords(r Round) string {
	f := r.Format
	return fmt.Sprintf("%d positions, mean %s, tightest %s at position %d, loosest %s at position %d, spread %s. %s. Position 1 is at the top and the numbers run clockwise.",
		r.Round.N, f.quantity(r.Round.Mean), f.quantity(r.Round.Tightest.Value), r.Round.Tightest.Position,
		f.quantity(r.Round.Loosest.Value), r.Round.Loosest.Position, f.quantity(r.Round.Spread), f.windowWords(r.Spec.Limits))
}
