package report

import (
	"fmt"
	"math"
	"strconv"
)

// runoutPicture unrolls a run-out over one turn of the wheel: the readings
// about their mean, the once per turn part dashed, and the sum of once and
// twice per turn. A continuous turn has no points; its harmonics alone are
// drawn.
func runoutPicture(r Runout) *drawing {
	mean := 0.0
	for _, p := range r.Points {
		mean += p.Value / float64(len(r.Points))
	}
	sum := func(deg float64) float64 {
		v := 0.0
		if r.Runout.H1 != nil {
			v += harmonicAt(*r.Runout.H1, 1, deg)
		}
		if r.Runout.H2 != nil {
			v += harmonicAt(*r.Runout.H2, 2, deg)
		}
		return v
	}
	s := newSpan()
	for deg := 0.0; deg <= 360; deg += 5 {
		s.add(sum(deg))
		if r.Runout.H1 != nil {
			s.add(harmonicAt(*r.Runout.H1, 1, deg))
		}
	}
	for _, p := range r.Points {
		s.add(p.Value - mean)
	}
	margin := 0.1*(s.high-s.low) + 1e-3
	c := newChart(chartWidth, chartHeight, s.low-margin, s.high+margin, "mm about the mean", r.Title, runoutWords(r))
	c.grid()
	c.turn(func(deg float64) float64 { return sum(deg) }, inkCurve, r.Runout.H1 != nil)
	if r.Runout.H1 != nil && r.Runout.H2 != nil {
		c.turn(func(deg float64) float64 { return harmonicAt(*r.Runout.H1, 1, deg) }, inkDashed, true)
	}
	for _, p := range r.Points {
		c.circle(ink{fill: colourPaper, stroke: colourInside, width: 1.4}, point{c.angle(p.AngleDeg), c.y.at(p.Value - mean)}, 3.4)
	}
	for deg := 0; deg <= 360; deg += 90 {
		x := c.angle(float64(deg))
		if deg == 360 {
			x = c.right
		}
		c.line(inkAxis, point{x, c.bottom}, point{x, c.bottom + 3})
		c.under(x, strconv.Itoa(deg)+"°", false)
	}
	c.axis("angle of the wheel")
	return c.drawing
}

// angle is where an angle in [0, 360) stands.
func (c chart) angle(deg float64) float64 {
	deg = math.Mod(math.Mod(deg, 360)+360, 360)
	return c.left + deg/360*(c.right-c.left)
}

// turn draws f over one turn.
func (c chart) turn(f func(deg float64) float64, i ink, known bool) {
	if !known {
		return
	}
	var ps []point
	for deg := 0.0; deg <= 360; deg += 4 {
		ps = append(ps, point{c.left + deg/360*(c.right-c.left), c.y.at(f(deg))})
	}
	c.polyline(i, ps, false)
}

// runoutWords says what the picture shows.
func runoutWords(r Runout) string {
	f := r.Format
	s := fmt.Sprintf("Full indicator movement %s", f.Quantity(r.Runout.FIM))
	if r.Runout.H1 != nil {
		s += fmt.Sprintf(", once per turn %s either way with its high spot at %.0f°", f.Quantity(r.Runout.H1.Amplitude), r.Runout.H1.PhaseDeg)
	}
	if r.Runout.H2 != nil {
		s += fmt.Sprintf(", twice per turn %s at %.0f°", f.Quantity(r.Runout.H2.Amplitude), r.Runout.H2.PhaseDeg)
	}
	return s + ". " + upperFirst(f.Window(r.Limits)) + "."
}
