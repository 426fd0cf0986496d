package report

import (
	"cmp"
	"fmt"
	"math"

	"crownlog/analysis/leak"
	"crownlog/logger/record"
)

// mostPoints is about how many points of a curve can be told apart in a picture.
const mostPoints = 300

// leakPicture draws the pressure over the test, as read too where the temperature
// was taken out, with the straight line of the fitted loss.
func leakPicture(m Measured, curve []leak.Sample) *drawing {
	t0, t1 := curve[0].T, curve[len(curve)-1].T
	var pressures []float64
	var mean, middle float64 // pressure and time in the middle of the curve
	for i, p := range curve {
		pressures = append(pressures, p.P, m.Curve[i].P)
		mean, middle = mean+p.P/float64(len(curve)), middle+p.T/float64(len(curve))
	}
	low, high := extent(pressures)
	margin := 0.15*(high-low) + 0.2
	d := &drawing{width: 270, height: 118, title: "Air test, " + stageTitle(m.Stage), desc: fmt.Sprintf("Loses %s.", m.Format.quantity(m.Value))}
	const left, right, top, bottom = 46, 258, 22, 84
	kPa := newScale(low-margin, high+margin, bottom, top, 4)
	minutes := newScale(0, math.Max((t1-t0)/60, 1e-9), left, right, 5)
	for _, v := range kPa.ticks {
		y := kPa.at(v)
		d.line(inkHair, point{left, y}, point{right, y})
		d.write(inkSoft, anchorEnd, 10, left-5, y+3.5, kPa.figure(v))
	}
	for _, v := range minutes.ticks {
		d.write(inkSoft, anchorMiddle, 10, minutes.at(v), bottom+13, minutes.figure(v))
	}
	d.polyline(inkAxis, []point{{left, top}, {left, bottom}, {right, bottom}}, false)
	d.write(inkSoft, "", 10, left, top-9, "kPa")
	d.write(inkSoft, anchorMiddle, 10, (left+right)/2, bottom+28, "minutes")
	at := func(t, p float64) point { return point{minutes.at((t - t0) / 60), kPa.at(p)} }
	trace := func(i ink, curve []leak.Sample) {
		var ps []point
		for n, p := range curve {
			if every := len(curve)/mostPoints + 1; n%every == 0 || n == len(curve)-1 {
				ps = append(ps, at(p.T, p.P))
			}
		}
		d.polyline(i, ps, false)
	}
	trace(inkGhost, m.Curve)
	trace(ink{stroke: colourInside, width: 1.4}, curve)
	if loss := m.Value / 60; !math.IsNaN(loss) {
		d.line(inkDashed, at(t0, mean+loss*(middle-t0)), at(t1, mean-loss*(t1-middle)))
	}
	return d
}

// leakRows are the air tests, beside their curve where its readings were kept.
func leakRows(d Data) []row {
	var rows []row
	for _, m := range d.of(record.FeatureLeakDown) {
		r := row{{Share: 2, Lines: dropEmpty(
			fmt.Sprintf("%s: loses %s; window %s; %s.", upperFirst(stageTitle(m.Stage)), m.Format.plusMinus(m.Value, m.expanded()),
				m.Format.limits(m.Spec.Limits), m.Verdict.String()), upperFirst(m.Results[0].Capture.Note),
		)}}
		if len(m.Curve) > 1 {
			curve, _, restated := leak.Compensated(m.Curve, cmp.Or(d.Sheet.LeakDown.AmbientKPa, leak.StandardAtmosphere))
			r[0].Lines = append(r[0].Lines, given(restated, "Line: with the change of temperature taken out; dotted: as read. ")+"Dashed: the fitted loss.")
			r = append(r, panel{Share: 1, Picture: leakPicture(m, curve)})
		}
		rows = append(rows, r)
	}
	return rows
}
