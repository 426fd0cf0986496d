package logger

import (
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/words"
)

// raise shows a fault and sounds the alarm, once for each new text.
func (r *Round) raise(f analysis.Fault, text string) {
	if r.shown.Alert != text {
		r.shown.Alarm++
		r.alert(Event{Kind: EventFault, Fault: f, Text: text})
	}
}

// raisePassing shows a fault that is over with the next good reading.
func (r *Round) raisePassing(f analysis.Fault) {
	r.raise(f, words.Fault(f))
	r.passing = true
}

// Tell shows a line that is no fault of the measurement until something else is
// stored or said.
func (r *Round) Tell(text string) {
	if r.shown.Alert != text {
		r.alert(Event{Kind: EventGauge, Text: text})
	}
}

func (r *Round) alert(e Event) {
	r.shown.Alert, r.shown.Fault, r.passing = e.Text, e.Fault, false
	r.emit(e)
}

// clear takes the alert back.
func (r *Round) clear() {
	if r.shown.Fault != "" {
		r.emit(Event{Kind: EventCleared, Fault: r.shown.Fault, Text: "cleared: " + r.shown.Alert})
	}
	r.shown.Alert, r.shown.Fault, r.passing = "", "", false
}

// flagged reports whether a reading must not be measured by, and says why. The
// unit of the reading before tells a unit the gauge names, which is converted,
// from one that only the jump of the values betrays; before is its value.
func (r *Round) flagged(rd device.Reading, unitBefore string, before float64) bool {
	if rd.Flags&frame.FlagLowBattery != 0 && !r.battery {
		r.battery = true
		r.emit(Event{Kind: EventGauge, Text: "the gauge's battery is low: change it before it sleeps"})
	}
	switch {
	case rd.Flags&frame.FlagDuplicate != 0:
		return true
	case rd.Flags&frame.FlagHold != 0:
		r.raisePassing(analysis.Frozen)
		return true
	case rd.Flags&frame.FlagOverRange != 0:
		r.raisePassing(analysis.EndOfTravel)
		return true
	case rd.Flags&frame.FlagUnitChanged != 0 && rd.Unit == unitBefore && !r.flip.on:
		r.flip = unitFlip{on: r.feat.Quantity == "length", before: before, after: r.shown.Reading}
		r.notify(feature.Reset)
		r.raise(analysis.UnitFlip, words.Fault(analysis.UnitFlip))
		return true
	case r.flip.on && !r.flip.isBack(r.shown.Reading):
		return true
	case r.flip.on:
		r.flip.on = false
		r.clear()
	}
	return false
}

// A unitFlip is a jump of an unnamed unit between inch and millimetre. Nothing
// is measured until the readings are back where they were before it.
type unitFlip struct {
	on            bool
	before, after float64
}

// isBack reports whether v is by far nearer to the readings before the jump: a
// tenth of the way, for a hand may have moved the wheel while the key was sought.
func (f unitFlip) isBack(v float64) bool {
	return math.Abs(v-f.before) < 0.1*math.Abs(f.after-f.before)
}

// event takes what a gauge or a line says. What is not a reading touches nothing
// that is captured.
func (r *Round) event(ev device.Event) error {
	switch ev.Kind {
	case device.EventReading:
		return r.reading(ev.Reading)
	case device.EventGarbled:
		r.shown.Garbled++
		r.sayGarbled(ev.Text)
		r.notify(feature.Broken)
		if ev.Flags&frame.FlagOverRange != 0 {
			r.raisePassing(analysis.EndOfTravel)
		}
	case device.EventSilent:
		// How long it has been silent would be untrue a moment later.
		r.Tell("The gauge sends nothing. Wake it, or look at the cable.")
		r.passing = true
	case device.EventLost:
		r.enter(StateLost)
		r.notify(feature.Reset)
		r.raise(analysis.Gaps, fmt.Sprintf("The gauge is gone (%s): plug it in again. Stored so far: %d.", ev.Text, r.shown.Stored))
	case device.EventBack:
		r.enter(StateWaiting)
		r.clear()
		r.emit(Event{Kind: EventGauge, Text: "the gauge is back: " + ev.Text})
	case device.EventEnd:
		return r.ended(ev)
	}
	return nil
}

// sayGarbled tells of a broken frame: of the first few each, then ever more
// rarely, for a wrong profile breaks them all. Every one is counted and in the
// journal.
func (r *Round) sayGarbled(text string) {
	switch n := r.shown.Garbled; {
	case r.cfg.Keyed:
		r.emit(Event{Kind: EventGauge, Text: "not taken: " + text})
	case n <= 5:
		r.emit(Event{Kind: EventGauge, Text: fmt.Sprintf("garbled frame %d: %s", n, text)})
	case n == 10 || n%100 == 0:
		r.emit(Event{Kind: EventGauge, Text: fmt.Sprintf("%d garbled frames so far: are the profile and its baud those of this gauge?", n)})
	}
}

// ended is the end of a file or of typed input: a measurer that waits for more
// takes what there is.
func (r *Round) ended(ev device.Event) error {
	if r.Done() {
		return nil
	}
	if r.cfg.Piped && r.doubted != nil {
		return r.unanswered()
	}
	if err := r.send(feature.Input{Kind: feature.End}); err != nil || r.Done() {
		return err
	}
	ended := strings.TrimSuffix(" ("+ev.Text+")", " ()")
	r.Tell(fmt.Sprintf("The input has ended%s with %d of %d stored.", ended, r.shown.Stored, len(r.visits)))
	return nil
}
