package rocking

import (
	"math"

	"crownlog/analysis"
)

// An EventKind says what an Event reports.
type EventKind string

// What can happen while the wheel is rocked.
const (
	StopFound    EventKind = "stop"    // the wheel dwells at a stop
	RockCounted  EventKind = "rock"    // one more sound rock; Rocks is the count
	FaultRaised  EventKind = "fault"   // Fault began
	FaultCleared EventKind = "cleared" // Fault is over
)

// An Event is one thing that happened on the live trace. T, From and To are
// in the seconds of the samples, Level in their unit.
type Event struct {
	Kind     EventKind
	T        float64        // time of the sample that brought the event
	From, To float64        // of a stop: first and last sample of its dwell so far
	Level    float64        // of a stop
	High     bool           // the stop with the larger reading
	Fault    analysis.Fault // of FaultRaised and FaultCleared
	Rocks    int            // sound rocks so far
}

// announce tells of a new stop, and of what it changed in the count of rocks and the
// faults. While the value stands still, which may be a gauge that froze, it looks for a
// change again and again.
func (r *Rocking) announce() {
	const every = 2 // s
	if r.seg.Since() == r.told {
		if r.rocks > 0 && r.seg.T >= r.look && r.seg.Still.Now.Length() >= every {
			r.look = r.seg.T + every
			r.emit()
		}
		return
	}
	r.told = r.seg.Since()
	d, ok := r.seg.Open()
	if !ok || math.Abs(d.Level-r.level) <= r.seg.Near() {
		return
	}
	r.tell(Event{Kind: StopFound, From: d.From, To: d.To, Level: d.Level + r.seg.Origin, High: d.Level > r.level})
	r.level = d.Level
	r.emit()
}

// tell adds an event of now.
func (r *Rocking) tell(e Event) {
	e.T, e.Rocks = r.seg.T, r.rocks
	r.events = append(r.events, e)
}

// emit sends what changed since the last judgement. That the rocks are too few is
// no news while they are being made.
func (r *Rocking) emit() {
	j := judge(&r.seg, &r.scratch)
	j.rocks += r.past.rocks()
	more := j.rocks > r.rocks
	r.rocks = j.rocks
	if more {
		r.tell(Event{Kind: RockCounted})
	}
	now := j.faults &^ faultBit(analysis.TooFewRocks)
	for i, f := range faultOrder {
		switch bit := faultSet(1) << i; {
		case now&^r.emitted&bit != 0:
			r.tell(Event{Kind: FaultRaised, Fault: f})
		case r.emitted&^now&bit != 0:
			r.tell(Event{Kind: FaultCleared, Fault: f})
		}
	}
	r.emitted = now
}
