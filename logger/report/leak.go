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
	curve, restated := atFirstTemperature(l.Curve, l.Ambient)
	s := newSpan()
	for i, p := range curve {
		s.add(p.P, l.Curve[i].P)
	}
	low, high := s.widened(0.15, 0.2)
	c := newChart(chartWidth, chartHeight, low, high, "kPa", "Leak-down", leakWords(l))
	c.grid()
	minutes := newScale(0, (t1-t0)/60, c.left, c.right, 5)
	minutes.high = math.Max((t1-t0)/60, 1e-9)
	at := func(t, p float64) point { return point{minutes.at((t - t0) / 60), c.y.at(p)} }
	trace := func(i ink, curve []leak.Sample) {
		var ps []point
		for _, p := range thinned(curve, 300) {
			ps = append(ps, at(p.T, p.P))
		}
		c.polyline(i, ps, false)
	}
	if restated {
		trace(inkGhost, l.Curve)
	}
	trace(ink{stroke: colourInside, width: 1.4}, curve)
	if !math.IsNaN(l.Value) {
		mean, middle := leakMiddle(curve)
		loss := l.Value / 60
		c.line(inkDashed, at(t0, mean+loss*(middle-t0)), at(t1, mean-loss*(t1-middle)))
	}
	for _, m := range minutes.ticks {
		if m <= minutes.high*(1+1e-9) {
			c.under(minutes.at(m), minutes.figure(m), false)
		}
	}
	c.axis("minutes")
	return c.drawing
}

// atFirstTemperature restates every pressure at the temperature of the first
// reading, p' = (p + ambient)·T₀/T - ambient in kelvin. It is false, and gives
// the curve back, where a temperature is missing.
func atFirstTemperature(s []leak.Sample, ambient float64) ([]leak.Sample, bool) {
	const zeroC = 273.15 // kelvin
	out := make([]leak.Sample, len(s))
	for i, p := range s {
		if math.IsNaN(p.TempC) || p.TempC <= -zeroC {
			return s, false
		}
		p.P = (p.P+ambient)*(s[0].TempC+zeroC)/(p.TempC+zeroC) - ambient
		out[i] = p
	}
	return out, true
}

// thinned keeps at most about n samples, evenly.
func thinned(s []leak.Sample, n int) []leak.Sample {
	step := len(s)/n + 1
	var kept []leak.Sample
	for i := 0; i < len(s); i += step {
		kept = append(kept, s[i])
	}
	if last := s[len(s)-1]; len(kept) > 0 && kept[len(kept)-1] != last {
		kept = append(kept, last)
	}
	return kept
}

// leakMiddle is the mean pressure and the mean time.
func leakMiddle(s []leak.Sample) (pressure, at float64) {
	for _, p := range s {
		pressure += p.P / float64(len(s))
		at += p.T / float64(len(s))
	}
	return pressure, at
}

// leakWords says what the picture shows.
func leakWords(l LeakDown) string {
	return fmt.Sprintf("Loses %s. %s.", l.Format.quantity(l.Value), upperFirst(l.Format.windowWords(l.Spec.Limits)))
}

func leakPanel(l LeakDown) panel {
	p := panel{Share: 1, Lines: dropEmpty(
		fmt.Sprintf("%s: loses %s; %s; %s.", upperFirst(stageTitle(l.Stage)), l.Format.plusMinus(l.Value, l.expanded()),
			l.Format.windowWords(l.Spec.Limits), l.Verdict.String()), upperFirst(l.Note),
	)}
	if len(l.Curve) > 1 {
		p.Picture = leakPicture(l)
		legend := "Dashed: the fitted loss."
		if _, restated := atFirstTemperature(l.Curve, l.Ambient); restated {
			legend = "Line: with the change of temperature taken out; dotted: as read; dashed: the fitted loss."
		}
		p.Lines = append(p.Lines, legend)
	}
	return p
}
