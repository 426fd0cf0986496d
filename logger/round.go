// Package logger runs rounds and keeps their record. Gauge events go in;
// captures, a view to draw and plain events come out; the captures land in a
// job folder that survives a pulled plug and opens in a spreadsheet.
//
// Corrections. A line is never changed. A new measurement of a position names
// the one it supersedes; an undo is a line of quality "rejected" that
// supersedes the capture undone and brings back what that one had superseded.
// record.Active applies both.
package logger

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A RoundConfig says what a round measures and where it keeps it.
type RoundConfig struct {
	Sheet      sheet.Sheet `json:"-"`
	Stage      string
	Feature    string
	Store      record.Store        `json:"-"`
	Readings   journal.ReadingSink `json:"-"`         // may be nil
	Resolution float64             `json:",omitzero"` // of the gauge, in the unit of its readings: mm, N·m or kPa; 0: the sheet's
	Unit       string              `json:",omitzero"` // of readings that name none; "": the feature's own
	Gauge      string              `json:",omitzero"` // label of captures made without a reading; readings bring their own
	Listen     func(Event)         `json:"-"`         // may be nil
	Keyed      bool                `json:",omitzero"` // one value a line is one capture
	Piped      bool                `json:",omitzero"` // keyed from a file or a pipe: a question would not be answered
	HandsOff   bool                `json:",omitzero"` // lifting the plunger moves on
	NoKeys     bool                `json:",omitzero"` // no command can be given: all goes by the gauge alone
	ByKey      bool                `json:",omitzero"` // a backlash is captured by command only
	Continuous bool                `json:",omitzero"` // run-out: one steady turn instead of positions
	Again      bool                `json:",omitzero"` // measure the feature anew; the new captures supersede
	Remeasure  bool                `json:",omitzero"` // measure anew what is outside: of bolts the last pull of each such bolt, else the whole feature
	Override   string              `json:",omitzero"` // reason for measuring despite a block; recorded
	Now        func() time.Time    `json:"-"`         // for commands before any reading; nil: time.Now
}

// A Round measures one feature at all its positions in one stage. It takes
// gauge events, makes captures and tells what happens as Events; it knows no
// screen, no port and no clock. One goroutine owns it.
type Round struct {
	cfg     RoundConfig
	feat    feature.Feature
	read    record.Feature // as its gauge sends it
	setup   feature.Setup
	visits  []feature.Visit
	slots   []record.Capture // one a visit; ID 0: not captured
	older   []int            // one a visit: the ID a new capture supersedes
	current int              // index into visits
	came    int              // visit the round was at before the current one; the same: not known
	measure feature.Measurer

	begun   int       // captures there were when the round began
	holds   bool      // it waits for the hold points before it
	logged  bool      // how it began stands in its readings
	start   time.Time // zero of the sample times; zero: no reading yet
	now     time.Time // of the latest event
	last    device.Reading
	counts  int // decimals of the gauge's resolution
	written int // most decimals a reading was written with

	first  time.Time // see At.First
	trace  trace
	stops  []feature.Stop
	paused bool
	shown  View // what of it stays the same until something happens

	retrying bool            // the current visit is measured once more
	returned bool            // to it the plunger was tapped back
	doubted  *record.Capture // waits to be given again before it is stored; nil: none
	doubt    string          // what the measurer says against the next capture

	flip       unitFlip
	passing    bool            // the alert is over with the next good reading
	held       []job.HoldPoint // before this round, neither cleared nor passed
	blocked    string          // name of what must be overridden before a capture
	overridden bool
	battery    bool
	judge      feature.Judge
	touched    bool // something was rocked or stored
	piped      piped
}

// NewRound starts a round. Where captures of the stage and feature exist
// already it continues behind them; after an adjuster move, or with Again, it
// starts anew and supersedes them. So it does with those that a plunger set in
// another way measured, where they cannot be converted. It refuses an unknown feature, a stage that
// is not in the sheet, and a feature the sheet says too little about.
func NewRound(c RoundConfig) (*Round, error) {
	f, ok := feature.Find(c.Feature)
	_, known := record.UnitOf(c.Feature)
	switch {
	case !known:
		return nil, fmt.Errorf("unknown feature %q: want one of %s", c.Feature, strings.Join(record.Features(), ", "))
	case !ok:
		return nil, fmt.Errorf("feature %q is recorded, not measured", c.Feature)
	case !slices.Contains(c.Sheet.StageList(), c.Stage):
		return nil, fmt.Errorf("stage %q is not in job.toml: want one of %s", c.Stage, strings.Join(c.Sheet.StageList(), ", "))
	}
	_, err := f.AsRead(c.Keyed).Convert(0, c.Unit)
	if c.Override != "" {
		err = cmp.Or(record.CheckReason(c.Override), err)
	}
	if err = cmp.Or(feature.Lacks(c.Sheet, c.Feature), err); err != nil {
		return nil, err
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	r := &Round{
		cfg: c, feat: f, read: f.AsRead(c.Keyed), judge: feature.NewJudge(c.Sheet.InStage(c.Stage), c.Feature),
		begun: len(c.Store.Captures()),
	}
	r.setup = r.newSetup()
	r.counts = feature.DecimalsOf(r.setup.Resolution)
	r.visits = f.VisitsOf(c.Sheet, r.setup.Positions)
	r.slots, r.older = make([]record.Capture, len(r.visits)), make([]int, len(r.visits))
	r.resume()
	r.measure = f.NewMeasurer(r.setup, c.Continuous)
	r.shown = View{
		Vehicle: c.Sheet.Vehicle.Label, Invented: c.Sheet.Invented, Unit: r.read.Unit, State: StateWaiting, Keyed: c.Keyed, Reading: math.NaN(),
		Window: r.setup.Spec.Limits, Printed: r.setup.Sheet.PrintedWindow(c.Feature),
		Caution: strings.TrimSpace(r.setup.Undecidable() + " " + f.Caution), Card: feature.Card(c.Sheet, c.Feature),
	}
	if !f.NamesUnit {
		r.shown.Typed = r.setup.TypedUnit()
	}
	r.refresh()
	r.current = len(r.visits) - 1 // the next of which is the first
	if k := r.nextOpen(); k >= 0 {
		r.current = k
	} else {
		r.finish()
	}
	r.came = r.current
	r.notify(feature.Enter)
	return r, nil
}

// newSetup is what the measurer may know.
func (r *Round) newSetup() feature.Setup {
	c := r.cfg
	resolution := c.Resolution
	if !(resolution > 0) && r.feat.Quantity == "length" {
		resolution = c.Sheet.Gauge.ResolutionMM
	}
	positions := feature.Positions(c.Sheet, c.Feature)
	if c.Continuous && r.feat.AsWhole != nil {
		positions = []record.Position{feature.WholeFeature(c.Feature)}
	}
	here := c.Sheet.InStage(c.Stage)
	return feature.Setup{
		Sheet: here, Of: r.feat, Positions: positions, Spec: here.Window(c.Feature), Resolution: resolution,
		Unit: c.Unit, Override: c.Override, Keyed: c.Keyed, Piped: c.Piped, HandsOff: c.HandsOff, NoKeys: c.NoKeys, ByKey: c.ByKey,
	}
}

// resume finds the captures that exist already. The captures of one bolt are
// its passes in order.
func (r *Round) resume() {
	all := r.cfg.Store.Captures()
	work, _ := record.StaleSince(all, r.cfg.Stage, r.cfg.Feature)
	if i := slices.IndexFunc(all, func(c record.Capture) bool {
		return c.Stage == r.cfg.Stage && c.Feature == r.cfg.Feature && c.ID > work.ID
	}); i >= 0 {
		r.first = all[i].Time
	}
	// After work on the axle the older ones do not stand any more, and are superseded.
	for k, c := range r.placed(record.ActiveOf(all, r.cfg.Stage, r.cfg.Feature)) {
		r.older[k] = c.ID
	}
	if r.cfg.Again || r.cfg.Remeasure && !r.inPasses() {
		r.cfg.Again = true
		return
	}
	for k, c := range r.placed(record.Valid(all, r.cfg.Stage, r.cfg.Feature)) {
		r.older[k] = max(r.older[k], c.ID)
		here, ok := r.cfg.Sheet.Convert(c)
		v, _, _ := r.judge.Decide(here)
		if ok && !(r.cfg.Remeasure && r.visits[k].Final && v == gum.Outside) {
			r.slots[k] = here
		}
	}
}

// placed are the captures by the visit each belongs to: of bolts the first pass that
// is not taken yet.
func (r *Round) placed(cs []record.Capture) []record.Capture {
	at := make([]record.Capture, len(r.visits))
	for _, c := range cs {
		for k, v := range r.visits {
			if v.Position.Index == c.Position && !(r.inPasses() && at[k].ID > 0) {
				at[k] = c
				break
			}
		}
	}
	return at
}

// inPasses reports whether a position is visited once for each pass.
func (r *Round) inPasses() bool { return r.visits[0].Passes > 0 }

// nextOpen is the first visit without a capture after the current one, going
// round; -1 when there is none.
func (r *Round) nextOpen() int {
	for i := 1; i <= len(r.slots); i++ {
		k := (r.current + i) % len(r.slots)
		if r.slots[k].ID == 0 {
			return k
		}
	}
	return -1
}

// Handle takes one gauge event. An error means that a capture or a raw reading
// could not be stored: the round stays where it was and can go on when the
// cause is gone. Faults of the gauge or of the measurement are not errors;
// they are in View and Listen. With values from a file or a pipe a line that was
// not taken is an error, a *LineError.
func (r *Round) Handle(ev device.Event) error {
	kept := r.keep(ev)
	if ev.Kind == device.EventCommand { // of a recorded round
		if r.now.IsZero() { // no gauge keeps the time: what comes of the command has its own
			r.now = ev.Time
			defer func() { r.now = time.Time{} }()
		}
		return errors.Join(kept, r.do(Command(ev.Text)))
	}
	if ev.Time.After(r.now) {
		r.now = ev.Time
	}
	if r.cfg.Piped {
		return errors.Join(kept, r.piped.take(r, ev))
	}
	return errors.Join(kept, r.event(ev))
}

// reading takes one value to the measurer.
func (r *Round) reading(rd device.Reading) error {
	if r.start.IsZero() {
		r.start = rd.Time
	}
	if r.feat.AsTyped(r.cfg.Keyed) {
		return r.typedReading(rd)
	}
	unit := cmp.Or(rd.Unit, r.cfg.Unit)
	if unit == "" {
		r.raise("", "The gauge names no unit: give its profile one, or "+r.feat.Title+" cannot be measured.")
		return nil
	}
	x, err := r.read.Convert(rd.Value, unit)
	if err != nil {
		return r.otherQuantity(rd, unit)
	}
	unitBefore, before := r.last.Unit, r.shown.Reading
	r.last, r.shown.Reading = rd, x
	r.written = max(r.written, writtenDecimals(rd.Raw))
	s := analysis.Sample{T: rd.Time.Sub(r.start).Seconds(), X: x}
	r.trace.add(s)
	if r.shown.State == StateWaiting || r.shown.State == StateLost {
		r.shown.State = StateMeasuring
	}
	if r.paused || len(r.held) > 0 || r.flagged(rd, unitBefore, before) {
		return nil
	}
	if r.passing {
		r.clear()
	}
	return r.send(feature.Input{Kind: feature.Reading, Sample: s, Flags: rd.Flags, Unit: unit, Time: rd.Time, Gauge: rd.Gauge})
}

// typedReading takes a value as it was typed.
func (r *Round) typedReading(rd device.Reading) error {
	r.last, r.written = rd, max(r.written, writtenDecimals(rd.Raw))
	r.enter(StateMeasuring)
	if !r.ready() || r.paused {
		return nil
	}
	return r.send(feature.Input{Kind: feature.Typed, Value: rd.Value, Unit: rd.Unit, Time: rd.Time, Gauge: rd.Gauge})
}

// otherQuantity takes a reading the feature cannot be measured by: that of the
// gauge beside, or of a wrong one.
func (r *Round) otherQuantity(rd device.Reading, unit string) error {
	if quantity, _, err := units.Canonical(unit); err == nil && quantity == r.feat.Beside {
		return r.send(feature.Input{Kind: feature.Temperature, Value: rd.Value})
	}
	r.raise("", fmt.Sprintf("The gauge %s sends %s, which is not what %s needs: choose the right gauge or its unit.", rd.Gauge, unit, r.feat.Title))
	r.passing = true
	return nil
}

// Done reports whether every position is measured.
func (r *Round) Done() bool { return r.shown.State == StateDone }

// enter changes the state of a round that is not done.
func (r *Round) enter(s State) {
	if !r.Done() {
		r.shown.State = s
	}
}
