package dashboard

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/units"
	"crownlog/logger"
	"crownlog/logger/record"
)

// A span is the stretch of values a trace shows.
type span struct{ lo, hi float64 }

// traceSpan returns round limits around what v shows, so that the scale stays
// still while the needle moves: steps of 1, 2 or 5 times a power of ten, and
// never finer than a few counts of the gauge.
func traceSpan(v logger.View) span {
	lo, hi := math.Inf(1), math.Inf(-1)
	near, reach := traceFocus(v)
	grow := func(x float64) {
		if math.Abs(x-near) <= reach {
			lo, hi = math.Min(lo, x), math.Max(hi, x)
		}
	}
	for _, s := range v.Trace {
		grow(s.X)
	}
	for _, s := range v.Stops {
		grow(s.Level)
	}
	if lo > hi {
		lo, hi = 0, 0
	}
	high := hi - lo
	for _, w := range traceWindow(v) { // limits far away would flatten the trace
		if w > lo-2*high && w < hi+2*high {
			grow(w)
		}
	}
	if lack := 8*math.Pow10(-max(v.Decimals, 0)) - (hi - lo); lack > 0 {
		lo, hi = lo-lack/2, hi+lack/2
	}
	step := units.RoundStep((hi - lo) / 10)
	return span{math.Floor(lo/step+1e-9) * step, math.Ceil(hi/step-1e-9) * step}
}

// traceFocus is the value the picture is about and how far from it values
// still count. A plunger lifted off goes millimetres away: on a backlash trace
// it leaves the picture instead of flattening it.
func traceFocus(v logger.View) (near, reach float64) {
	if !record.IsBacklash(v.Feature) || len(v.Trace) == 0 {
		return 0, math.MaxFloat64
	}
	near = v.Trace[len(v.Trace)-1].X
	if n := len(v.Stops); n > 0 {
		near = v.Stops[n-1].Level
	}
	reach = 0.4
	if !math.IsNaN(v.Window.Upper) {
		reach = 1.5 * v.Window.Upper
	}
	return near, reach
}

// runout reports whether a feature is a run-out.
func runout(feature string) bool { return strings.HasPrefix(feature, "runout-") }

// traceWindow returns where the limits lie on the trace, if they have a place there.
// Backlash is the way between the two stops and is counted from the last low one,
// run-out from the lowest reading or the lowest place stored; a leak is a slope.
func traceWindow(v logger.View) []float64 {
	base := 0.0
	switch {
	case record.IsBacklash(v.Feature):
		base = math.NaN()
		for _, s := range v.Stops {
			if !s.High {
				base = s.Level
			}
		}
	case v.Feature == record.FeatureLeakDown, runout(v.Feature) && len(v.Trace) == 0:
		return nil
	case runout(v.Feature):
		base = slices.MinFunc(v.Trace, func(a, b analysis.Sample) int { return cmp.Compare(a.X, b.X) }).X
		if v.Round.N > 0 {
			base = min(base, v.Round.Tightest.Value)
		}
	}
	at := []float64{base + v.Window.Lower, base + v.Window.Upper}
	return slices.DeleteFunc(at, math.IsNaN)
}

// traceSeconds is the stretch of time shown: the next of a few round figures,
// so that it does not creep with every reading.
func traceSeconds(v logger.View) float64 {
	long := 0.0
	if len(v.Trace) > 0 {
		long = -v.Trace[0].T
	}
	for _, n := range []float64{5, 12, 30, 60, 120, 300, 600} {
		if long <= n*1.05 {
			return n
		}
	}
	return long
}

// trace draws the last seconds of the reading with the stops found in it and
// the limits, time to the right.
func trace(c canvas, v logger.View) {
	if c.h < 2 || c.w < 24 {
		return
	}
	if v.Keyed {
		c.centre(c.h/2, "typed values have no trace", inkFaint)
		return
	}
	s := traceSpan(v)
	scale := max(textWidth(units.Fixed(s.lo, v.Decimals)), textWidth(units.Fixed(s.hi, v.Decimals)))
	c.right(scale, 0, units.Fixed(s.hi, v.Decimals), inkFaint)
	c.right(scale, c.h-1, units.Fixed(s.lo, v.Decimals), inkFaint)
	for y := range c.h {
		c.text(scale, y, "│", inkFaint)
	}
	levels := scale + 6 // columns for the names of the stops
	p := newPlot(c.pane(scale+1, 0, c.w-scale-1-levels, c.h), s, v)
	names := c.pane(c.w-levels, 0, levels, c.h)
	if len(v.Trace) == 0 {
		p.pane.centre(c.h/2, "no reading yet", inkFaint)
		return
	}
	p.stops(names, v)
	p.curve(v.Trace)
	p.limits(names, v)
}

// A plot maps seconds before now and values to a pane. Dot columns are counted
// from a fixed origin in time, so a bend keeps its shape. The trace grows to
// the right edge and then moves left by a twelfth of the pane: between the
// moves only its end changes, which spares the eye and a slow line.
type plot struct {
	pane  canvas
	span  span
	now   float64 // seconds of the newest reading, from any fixed origin
	per   float64 // seconds a dot column
	first float64 // the column at the left edge, counted from the origin
}

func newPlot(pane canvas, s span, v logger.View) plot {
	columns := float64(2 * pane.w)
	p := plot{pane: pane, span: s, per: traceSeconds(v) / columns}
	p.now = float64(v.At.Unix()%1e5) + float64(v.At.Nanosecond())/1e9
	step := float64(2 * max(pane.w/12, 1))
	p.first = math.Floor(p.now/p.per/step)*step + step - columns
	return p
}

// column is the dot column of a time, in seconds before now.
func (p plot) column(t float64) int { return int(math.Floor((p.now+t)/p.per) - p.first) }

// row is the dot row of a value; ok is false off the scale.
func (p plot) row(x float64) (int, bool) {
	n := float64(4*p.pane.h - 1)
	y := (p.span.hi - x) / (p.span.hi - p.span.lo) * n
	if math.IsNaN(y) || y < -0.5 || y > n+0.5 {
		return 0, false
	}
	return int(math.Round(y)), true
}

// curve joins the readings; a gap of more than a second stays a gap.
func (p plot) curve(samples []analysis.Sample) {
	d := newDots(p.pane.w, p.pane.h)
	px, py, pt, have := 0, 0, 0.0, false
	for _, s := range samples {
		x := p.column(s.T)
		y, ok := p.row(s.X)
		if !ok {
			have = false
			continue
		}
		if have && s.T-pt <= 1 {
			d.line(px, py, x, y)
		}
		d.set(x, y)
		px, py, pt, have = x, y, s.T, true
	}
	d.draw(p.pane, inkInside)
}

// stops draws a bar for each stop and names the level of the last high and
// low one.
func (p plot) stops(names canvas, v logger.View) {
	named := map[bool]bool{}
	for _, s := range slices.Backward(v.Stops) {
		y, ok := p.row(s.Level)
		if !ok {
			continue
		}
		bar, name := "▄", "low "
		if s.High {
			bar, name = "▀", "high "
		}
		for x := max(p.column(s.From)/2, 0); x <= p.column(s.To)/2; x++ {
			p.pane.text(x, y/4, bar, inkDoubt)
		}
		if !named[s.High] {
			names.text(1, y/4, clip(name+units.Fixed(s.Level, v.Decimals), names.w-1), inkDoubt)
			named[s.High] = true
		}
	}
}

// limits draws the window where nothing else stands.
func (p plot) limits(names canvas, v logger.View) {
	for _, l := range traceWindow(v) {
		y, ok := p.row(l)
		if !ok {
			continue
		}
		d := newDots(p.pane.w, p.pane.h)
		for x := 0; x < 2*p.pane.w; x += 4 {
			d.line(x, y, x+1, y)
		}
		d.draw(p.pane, inkWindow)
		if names.blank(1, y/4, names.w-1, 1) {
			names.text(1, y/4, "limit", inkWindow)
		}
	}
}
