package logger

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// View is the round at this moment: a copy, safe to hand to another goroutine.
func (r *Round) View() View {
	v := r.shown
	v.At, v.Progress, v.Decimals, v.InchDecimals = r.time(), r.measure.Progress(), r.decimals(), r.inchDecimals()
	v.ReadingFlags = r.last.Flags
	v.Positions, v.Current = r.positionViews(), r.visits[r.current].Place
	v.Trace, v.Stops = r.trace.recent(), r.recentStops()
	v.Act, v.Action, v.Fresh = r.act(), r.action(), r.fresh()
	if v.State == StateLost {
		v.Reading = math.NaN() // nobody knows what it shows now
	}
	if r.Done() {
		v.Current = -1
	} else if len(r.held) > 0 {
		v.State, v.Alert, v.Fault, v.Act, v.Fresh = StateHeld, "", "", "", false
		for _, h := range r.held {
			v.Alert = strings.TrimSpace(v.Alert + " " + h.Reason)
		}
		v.Action = "Do that first, or go past it with a reason (o), which is kept in the record."
		if v.Tick = job.ToTick(r.held); v.Tick.Name != "" {
			v.Action = "Tick it off (v), or go past it with a reason (o), which is kept in the record."
		}
	}
	if r.paused {
		v.State = StatePaused
	}
	if c := r.slots[r.current]; r.captured() && math.IsNaN(v.Estimate) {
		v.Estimate, v.EstimateU = c.Value, c.U
		if c.Quality != record.QualityKeyed {
			v.Rocks = c.N
		}
	}
	return v
}

// addStop keeps a stop for the picture, as long as it is in it.
func (r *Round) addStop(s feature.Stop) {
	if n := len(r.stops); n > 0 && s.From <= r.stops[n-1].To {
		r.stops[n-1] = s
		return
	}
	r.stops = append(slices.DeleteFunc(r.stops, func(old feature.Stop) bool { return s.To-old.To > traceSeconds }), s)
}

// recentStops copies the stops inside the trace, on its time base.
func (r *Round) recentStops() []feature.Stop {
	now := r.trace.newest()
	var stops []feature.Stop
	for _, s := range r.stops {
		if now-s.To <= traceSeconds {
			stops = append(stops, feature.Stop{From: math.Max(s.From-now, -traceSeconds), To: s.To - now, Level: s.Level, High: s.High})
		}
	}
	return stops
}

// decimals is how many the gauge resolves: by its resolution, or as its
// readings were written.
func (r *Round) decimals() int {
	switch {
	case r.setup.Resolution > 0 && r.cfg.Keyed && r.feat.Quantity == "length":
		return r.counts + 1 // half a division is read by eye
	case r.setup.Resolution > 0:
		return r.counts
	case r.last.Raw != "" && (r.last.Unit == "" || r.last.Unit == r.feat.Unit):
		return r.written
	}
	return r.feat.Decimals()
}

// writtenDecimals counts the digits behind the point of the first number in a
// frame, at most 6.
func writtenDecimals(raw string) int {
	_, behind, _ := strings.Cut(strings.ReplaceAll(raw, ",", "."), ".")
	return min(len(behind)-len(strings.TrimLeft(behind, "0123456789")), 6)
}

// refresh counts and assesses the captures after a change. What was measured before a round
// that is made anew does not count in it.
func (r *Round) refresh() {
	counted := slices.DeleteFunc(slices.Clone(r.slots), func(c record.Capture) bool { return c.ID == 0 })
	r.shown.Stored = len(counted)
	r.shown.Assessment = feature.AssessRound(r.cfg.Sheet, counted, r.cfg.Store.Captures(), r.cfg.Stage, r.cfg.Feature)
	r.shown.Reason = r.shown.Assessment.Reason()
}

// positionViews shows each position with its latest capture. A pull of an
// early pass is not judged.
func (r *Round) positionViews() []PositionView {
	views := make([]PositionView, len(r.setup.Positions))
	for i, p := range r.setup.Positions {
		views[i] = PositionView{Position: p, Value: math.NaN(), U: math.NaN()}
	}
	for k, c := range r.slots {
		pv := &views[r.visits[k].Place]
		if r.visits[k].Passes > 0 {
			pv.Pulls++
		}
		if c.ID == 0 {
			continue
		}
		if pv.Pulled++; c.Pass.Degrees > 0 { // the torque stays the one before
			continue
		}
		pv.Value, pv.U = c.Value, c.U
		pv.Verdict, _, _ = r.judge.Decide(c)
		pv.Word = feature.TryWord(c)
	}
	if !r.Done() {
		views[r.visits[r.current].Place].Current = true
	}
	return views
}

// fresh reports whether the card is to be read now. Where nobody can press a key to
// see a steady turn, it would stand before it to the end.
func (r *Round) fresh() bool {
	return r.shown.Card != nil && !r.touched && !r.Done() && !(r.cfg.NoKeys && len(r.visits) == 1)
}

// inchDecimals is how many decimals of an inch the gauge shows, with half a
// division of a dial that is read by eye; 0 where it reads in another unit.
func (r *Round) inchDecimals() int {
	unit := cmp.Or(r.last.Unit, r.cfg.Unit)
	if r.cfg.Keyed {
		unit = cmp.Or(r.last.Unit, r.setup.TypedUnit())
	}
	mm, err := units.Convert(1, unit, "mm")
	if tens := math.Log10(mm / 25.4); r.read.Quantity != "length" || err != nil || math.Abs(tens-math.Round(tens)) > 1e-9 {
		return 0
	}
	switch {
	case r.cfg.Keyed && r.setup.Resolution > 0:
		return min(feature.DecimalsOf(units.RoundTo(r.setup.Resolution/25.4, 1e-5))+1, 5)
	case r.last.Raw != "" && !r.cfg.Keyed:
		return max(r.written, 1) - int(math.Round(math.Log10(mm/25.4)))
	}
	return 4 // tenths of a thousandth, where nothing is known of it
}

const (
	traceSeconds = 12
	traceLength  = 2048 // samples of so many seconds at most; faster gauges are thinned for the picture
)

// A trace keeps the last seconds of samples for showing, and some before them.
type trace []analysis.Sample

func (t *trace) add(s analysis.Sample) {
	gap := s.T - t.newest()
	if len(*t) > 0 && gap >= 0 && gap < traceSeconds/float64(traceLength) {
		return
	}
	if len(*t) == 2*traceLength {
		*t = slices.Delete(*t, 0, traceLength)
	}
	*t = append(*t, s)
}

// recent copies the last seconds, times relative to the newest.
func (t trace) recent() []analysis.Sample {
	out := make([]analysis.Sample, 0, min(len(t), traceLength))
	now := t.newest()
	for _, s := range t {
		if now-s.T <= traceSeconds {
			out = append(out, analysis.Sample{T: s.T - now, X: s.X})
		}
	}
	return out
}

// newest is the time of the newest sample, 0 without any.
func (t trace) newest() float64 {
	if len(t) == 0 {
		return 0
	}
	return t[len(t)-1].T
}
