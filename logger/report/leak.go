package report

import (
	"fmt"
	"math"

	"crownlog/analysis/leak"
)

// leakPicture draws the pressure over the test with the straight line of the
// fitted loss.
func leakPicture(l LeakDown) *drawing {
	t0, t1 := l.Curve[0].T, l.Curve[len(l.Curve)-1].T
	curve, _, restated := leak.Compensated(l.Curve, l.Ambient)
	s := newSpan()
	var mean, middle float64 // pressure and time in the middle of the curve
	for i, p := range curve {
		s.add(p.P, l.Curve[i].P)
		mean, middle = mean+p.P/float64(len(curve)), middle+p.T/float64(len(curve))
	}
	low, high := s.widened(0.15, 0.2)
	c := newChart(low, high, "kPa", "Leak-down",
		fmt.Sprintf("Loses %s. %s.", l.Format.quantity(l.Value), upperFirst(l.Format.windowWords(l.Spec.Limits))))
	c.grid()
	minutes := newFixedScale(0, math.Max((t1-t0)/60, 1e-9), c.left, c.right, 5)
	at := func(t, p float64) point { return point{minutes.at((t - t0) / 60), c.y.at(p)} }
	trace := func(i ink, curve []leak.Sample) {
		var ps []point
		for n, p := range curve {
			if every := len(curve)/mostPoints + 1; n%every == 0 || n == len(curve)-1 {
				ps = append(ps, at(p.T, p.P))
			}
		}
		c.polyline(i, ps, false)
	}
	if restated {
		trace(inkGhost, l.Curve)
	}
	trace(ink{stroke: colourInside, width: 1.4}, curve)
	if !math.IsNaN(l.Value) {
		loss := l.Value / 60
		c.line(inkDashed, at(t0, mean+loss*(middle-t0)), at(t1, mean-loss*(t1-middle)))
	}
	for _, m := range minutes.ticks {
		c.under(minutes.at(m), minutes.figure(m))
	}
	c.axis("minutes")
	return c.drawing
}

// mostPoints is about how many points of a curve can be told apart in a picture.
const mostPoints = 300

func leakPanel(l LeakDown) panel {
	p := panel{Share: 1, Lines: dropEmpty(
		fmt.Sprintf("%s: loses %s; %s; %s.", upperFirst(stageTitle(l.Stage)), l.Format.plusMinus(l.Value, l.expanded()),
			l.Format.windowWords(l.Spec.Limits), l.Verdict.String()), upperFirst(l.Results[0].Capture.Note),
	)}
	if len(l.Curve) > 1 {
		p.Picture = leakPicture(l)
		legend := "Dashed: the fitted loss."
		if _, _, restated := leak.Compensated(l.Curve, l.Ambient); restated {
			legend = "Line: with the change of temperature taken out; dotted: as read; dashed: the fitted loss."
		}
		p.Lines = append(p.Lines, legend)
	}
	return p
}
