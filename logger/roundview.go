package logger

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"crownlog/analysis/gum"
)

// maxStops bounds the stops kept for the picture.
const maxStops = 64

// View is the round at this moment: a copy, safe to hand to another goroutine.
func (r *Round) View() View {
	v := View{
		At: r.time(), Vehicle: r.cfg.Sheet.Vehicle.Label, Invented: r.cfg.Sheet.Invented,
		Stage: r.cfg.Stage, Feature: r.cfg.Feature, Unit: readingFeature(r.feat, r.cfg.Keyed).unit,
		Decimals: r.decimals(), Gauge: orElse(r.last.Gauge, r.cfg.Gauge), State: r.state,
		Reading: r.value, ReadingFlags: r.last.Flags,
		Positions: r.positionViews(), Current: r.visits[r.current].position,
		Estimate: math.NaN(), EstimateU: math.NaN(),
		Window: r.spec.Limits, Printed: r.cfg.Sheet.PrintedWindow(r.cfg.Feature), Typed: r.bareUnit(), Round: r.assessed.Round, Verdict: r.assessed.Verdict, Reason: r.assessed.Reason(), Complete: r.assessed.Complete, Measured: r.assessed.Measured, Wanted: r.assessed.Needed, Rule: r.spec.Rule,
		Trace: r.trace.recent(), Stops: r.recentStops(),
		Action: r.action(), Alert: r.alert, Fault: r.fault, Move: r.advice,
		Caution: r.caution, Garbled: r.garbled, Stored: r.stored(), Bell: r.bell, Alarm: r.alarm,
	}
	if r.done {
		v.Current = -1
	} else if len(r.held) > 0 {
		v.State, v.Alert, v.Fault = StateHeld, r.holdText(), ""
		v.Action = "Do that first, or go past it with a reason (o), which is kept in the record."
	}
	if r.paused {
		v.State = StatePaused
	}
	v.Conclusion = r.conclusion
	switch {
	case r.advice != nil:
		v.Advice = r.advice.Text
	case r.feat.name == FeatureRunoutBackFace:
		v.Advice = r.conclusion
	}
	v.Round.Outside = slices.Clone(v.Round.Outside)
	v.Round.Missing = slices.Clone(v.Round.Missing)
	r.measure.fill(&v)
	if c := r.slots[r.current]; c.ID > 0 && math.IsNaN(v.Estimate) {
		v.Estimate, v.EstimateU, v.Rocks = c.Value, c.U, c.N
	}
	return v
}

// positionViews shows each position with its latest capture. A pull of an
// early pass is not judged.
func (r *Round) positionViews() []PositionView {
	views := make([]PositionView, len(r.positions))
	for i, p := range r.positions {
		views[i] = PositionView{Position: p, Value: math.NaN(), U: math.NaN()}
	}
	for k, c := range r.slots {
		if c.ID == 0 {
			continue
		}
		pv := &views[r.visits[k].position]
		pv.Value, pv.U, pv.Rocks = c.Value, c.U, c.N
		pv.Verdict, _, _ = r.judge.decide(c)
		pv.Word = tryWord(c)
	}
	if !r.done {
		views[r.visits[r.current].position].Current = true
	}
	return views
}

// captured reports whether the current visit has its capture and is not being
// measured once more.
func (r *Round) captured() bool { return r.slots[r.current].ID > 0 && !r.retrying }

func (r *Round) addStop(s Stop) {
	if n := len(r.stops); n > 0 && s.From <= r.stops[n-1].To {
		r.stops[n-1] = s
		return
	}
	r.stops = append(r.stops, s)
	if len(r.stops) > maxStops {
		r.stops = append(r.stops[:0], r.stops[len(r.stops)-maxStops/2:]...)
	}
}

// recentStops copies the stops inside the trace, on its time base.
func (r *Round) recentStops() []Stop {
	now := r.trace.newest()
	var stops []Stop
	for _, s := range r.stops {
		if now-s.To <= traceSeconds {
			stops = append(stops, Stop{From: math.Max(s.From-now, -traceSeconds), To: s.To - now, Level: s.Level, High: s.High})
		}
	}
	return stops
}

// decimals is how many the gauge resolves: by its resolution, or as its
// readings were written.
func (r *Round) decimals() int {
	if r.resolution > 0 {
		return decimalsOf(r.resolution)
	}
	if r.last.Raw != "" && (r.last.Unit == "" || r.last.Unit == r.feat.unit) {
		return r.written
	}
	switch r.feat.quantity {
	case "length":
		return 3
	case "torque", "leak":
		return 1
	}
	return 2
}

// decimalsOf is how many decimals a count of size d needs, at most 6.
func decimalsOf(d float64) int {
	text := strconv.FormatFloat(d, 'f', -1, 64)
	_, frac, _ := strings.Cut(text, ".")
	return min(len(frac), 6)
}

// writtenDecimals counts the digits behind the point of the first number in a
// frame, at most 6.
func writtenDecimals(raw string) int {
	i := strings.IndexAny(raw, ".,")
	if i < 0 {
		return 0
	}
	n := 0
	for _, c := range raw[i+1:] {
		if c < '0' || c > '9' {
			break
		}
		n++
	}
	return min(n, 6)
}

// withDoubt writes the value of a capture with its expanded uncertainty, both to
// the second significant digit of that. Source: JCGM 100:2008, 7.2.6.
func (r *Round) withDoubt(c Capture) string {
	if !(c.U > 0) {
		return r.amount(c.Value)
	}
	u, decimals := gum.RoundU(coverage * c.U)
	text := strconv.FormatFloat(c.Value, 'f', decimals, 64) + " ± " + strconv.FormatFloat(u, 'f', decimals, 64)
	return strings.TrimSuffix(text+" "+r.feat.unit, " ")
}

// amount writes a value with the unit and the decimals of the gauge, one more
// for length: a mean over dwells resolves more than one count.
func (r *Round) amount(v float64) string {
	if math.IsNaN(v) {
		return "no value"
	}
	d := r.decimals()
	switch r.feat.quantity {
	case "length":
		d = max(d, 3)
	case "leak": // a rate over minutes, of a gauge that counts in whole kPa perhaps
		d = max(d, 2)
	}
	text := strconv.FormatFloat(v, 'f', d, 64)
	if r.feat.unit == "" {
		return text
	}
	return text + " " + r.feat.unit
}
