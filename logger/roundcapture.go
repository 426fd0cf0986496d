package logger

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// capture stores what was found at the current visit, then reports it. When the
// store fails nothing else changes.
func (r *Round) capture(c record.Capture) error {
	k := r.current
	p := r.visits[k].Position
	c.Stage, c.Feature, c.Unit = r.cfg.Stage, r.cfg.Feature, r.feat.Unit
	c.Position, c.AngleDeg = p.Index, p.AngleDeg
	c.Supersedes = r.older[k]
	if c.Time.IsZero() {
		c.Time = r.time()
	}
	if c.Gauge == "" {
		c.Gauge = cmp.Or(r.last.Gauge, r.cfg.Gauge)
	}
	for _, v := range []*float64{&c.Value, &c.U, &c.Low, &c.High, &c.Repeatability, &c.OwnU, &c.HandU} {
		*v = units.RoundTo(*v, 1e-6)
	}
	stored, err := r.cfg.Store.Append(c)
	if err != nil {
		r.raise("", "NOT stored: "+err.Error()+". What was stored before is safe.")
		return err
	}
	here, _ := r.cfg.Sheet.Convert(stored) // one that is redone may be of before the sheet was edited
	r.slots[k], r.older[k] = here, stored.ID
	if r.cfg.Keyed {
		r.shown.Reading = stored.Value // what was typed last, for the eye to check
	}
	r.retrying, r.returned, r.doubted, r.touched = false, false, nil, true
	if r.first.IsZero() {
		r.first = c.Time // by the clock that is not set meanwhile
	}
	r.measure.Step(r.at(), feature.Input{Kind: feature.Stored, Value: stored.Value})
	r.clear()
	r.shown.Bell++
	r.shown.State = StateCaptured
	r.refresh()
	what := r.feat.WithDoubt(stored, r.decimals())
	if r.feat.Word != nil {
		what = cmp.Or(r.feat.Word(stored), what)
	}
	r.emit(Event{Kind: EventCaptured, Position: p, Capture: stored, Text: fmt.Sprintf("%s %s: %s", r.feat.Title, p.Label, what)})
	if r.nextOpen() < 0 {
		r.finish()
	}
	return nil
}

// finish ends the round once all positions stand.
func (r *Round) finish() {
	r.shown.State = StateDone
	r.notify(feature.Reset)
	r.shown.Outcome = job.OutcomeOf(r.cfg.Sheet, r.cfg.Store.Captures(), r.cfg.Stage, r.cfg.Feature)
	r.emit(Event{Kind: EventDone, Text: r.doneText()})
	if r.shown.Bell > 0 {
		r.askOfSlip()
	}
}

func (r *Round) doneText() string {
	text := fmt.Sprintf("%s, %s: all %d stored", r.feat.Title, r.cfg.Stage, len(r.visits))
	if len(r.visits) == 1 {
		text = fmt.Sprintf("%s, %s: stored", r.feat.Title, r.cfg.Stage)
	}
	if why := r.shown.Assessment.Reason(); why != "" && r.setup.Spec.Limits.Any() {
		text += "; " + why
	}
	return text
}

// moveTo makes visit k the current one.
func (r *Round) moveTo(k int) {
	r.came, r.current = r.current, k
	r.retrying, r.returned, r.doubted = false, false, nil
	r.stops, r.shown.Outcome = nil, job.Outcome{}
	r.shown.State = StateMeasuring // by a key the wheel has not moved yet
	if r.start.IsZero() {
		r.shown.State = StateWaiting
	}
	r.clear()
	r.notify(feature.Enter)
	r.emit(Event{Kind: EventPosition, Position: r.visits[k].Position, Text: r.action()})
}

// advance goes on to the next visit without a capture; without one the round
// is done.
func (r *Round) advance() {
	if k := r.nextOpen(); k >= 0 {
		r.moveTo(k)
	} else if !r.Done() {
		r.finish()
	}
}

// undo rejects the latest standing capture: a new line says so, and both stay
// in the journal.
func (r *Round) undo() error {
	was := slices.MaxFunc(r.slots, func(a, b record.Capture) int { return a.ID - b.ID })
	if was.ID == 0 {
		r.Tell("There is nothing to undo here.")
		return nil
	}
	c := r.cfg.Store.Captures()[was.ID-1] // as it was measured, whatever the sheet says now
	c.Supersedes, c.Time = c.ID, r.time()
	c.Quality, c.By = record.QualityRejected, ""
	stored, err := r.cfg.Store.Append(c)
	if err != nil {
		r.raise("", "The undo is NOT stored: "+err.Error()+".")
		return err
	}
	k := slices.IndexFunc(r.slots, func(c record.Capture) bool { return c.ID == was.ID })
	r.slots[k], r.older[k] = record.Capture{}, stored.ID
	all := r.cfg.Store.Captures()
	work, _ := record.StaleSince(all, r.cfg.Stage, r.cfg.Feature)
	if id := record.Revived(all, stored.ID); id > work.ID && !r.cfg.Again && !r.cfg.Remeasure { // it stands again, and is of this round
		r.slots[k], _ = r.cfg.Sheet.Convert(all[id-1])
	}
	r.refresh()
	r.moveTo(k)
	r.emit(Event{Kind: EventUndone, Position: r.visits[k].Position, Capture: was, Text: "undone: " + r.feat.Amount(was.Value, r.decimals())})
	if r.nextOpen() < 0 { // the capture before stands again
		r.finish()
	}
	return nil
}

func (r *Round) emit(e Event) {
	if r.cfg.Listen == nil {
		return
	}
	e.Time = r.time()
	if e.Position == (record.Position{}) {
		e.Position = r.visits[r.current].Position
	}
	r.cfg.Listen(e)
}

// askOfSlip asks whether a place was skipped, or measured twice, where the values
// fit those before clearly better moved by one. It changes nothing.
func (r *Round) askOfSlip() {
	from, by := slip(r.roundBefore())
	what := "skipped"
	switch by {
	case 0:
		return
	case -1:
		from, what = from-1, "measured twice"
	}
	r.raise("", fmt.Sprintf("Was position %d %s? The values fit those measured before much better when they are moved by one place. If so, measure all again (a). If not, go on.",
		r.visits[from].Position.Index, what))
}

// roundBefore is the backlash that was measured last before this round, place by
// place, with the combined standard uncertainty of a value of both, of what lets the
// places differ; nil where there is none of the same wheel on the same centre, whole and
// with its uncertainty.
func (r *Round) roundBefore() (before, now []float64, u float64) {
	if r.cfg.Feature != record.FeatureBacklash {
		return nil, nil, 0
	}
	all := r.cfg.Store.Captures()
	newest := make([]record.Capture, len(r.slots))
	for _, c := range all[:r.begun] {
		switch k := slices.IndexFunc(r.visits, func(v feature.Visit) bool { return v.Position.Index == c.Position }); {
		case c.Feature == record.FeatureWheelBolts || c.Feature == record.FeatureRunoutBackFace && c.Stage == record.StageFitUp:
			clear(newest) // another centre, or another place on it
		case c.Feature == r.cfg.Feature && c.Stage != record.StageAsFound && k >= 0 && c.ID != r.slots[k].ID && c.Quality != record.QualityRejected:
			newest[k], _ = r.cfg.Sheet.Convert(c)
		}
	}
	var variance float64
	for k, c := range newest {
		here := r.slots[k]
		if !(c.U > 0) || !(here.U > 0) {
			return nil, nil, 0
		}
		before, now = append(before, c.Value), append(now, here.Value)
		for _, v := range []record.Capture{c, here} {
			// A hand pushes alike to a third: most of its part is common to the places.
			variance += math.Max(v.OwnU*v.OwnU, v.U*v.U-v.HandU*v.HandU*8/9) / float64(len(newest))
		}
	}
	return before, now, math.Sqrt(variance)
}

// When a backlash is said to fit the one before better moved on by a place: what is
// left of the differences as it is, and moved, in combined standard uncertainties of a
// value, and how many times less that is. Chosen so that of unrelated wheels 3 in 100
// are asked about at most: see the test.
const (
	fitsNot, fits = 2.0, 0.8
	betterBy      = 3.0
	leastPlaces   = 4 // that can tell it
	leastSlipped  = 3 // one or two that are off are more likely burrs
)

// slip is the place from which on the values now fit those before, each with its
// place in the slice, much better moved by one place further on (by 1) or back
// (by -1); by is 0 where they do not. u is the combined standard uncertainty of a
// difference.
func slip(before, now []float64, u float64) (from, by int) {
	n := len(before)
	left := func(from, by int) float64 { // of the differences, less their mean
		var sum, squares float64
		for i, x := range now {
			at := i
			if i >= from {
				at = (i + by + n) % n
			}
			sum, squares = sum+x-before[at], squares+(x-before[at])*(x-before[at])
		}
		return math.Sqrt(max(0, squares-sum*sum/float64(n)) / float64(n-1))
	}
	plain := left(n, 0)
	if n < leastPlaces || plain < fitsNot*u {
		return 0, 0
	}
	best := min(plain/betterBy, fits*u)
	for k := 0; k <= n-leastSlipped; k++ {
		for _, step := range []int{1, -1} {
			if rest := left(k, step); rest < best && (k > 0 || step > 0) {
				best, from, by = rest, k, step
			}
		}
	}
	return from, by
}
