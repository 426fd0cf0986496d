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

// announce tells of a new stop, and of what it changed in the count of rocks
// and the faults.
func (r *Rocking) announce() {
	r.told = r.path.from
	d, ok := r.open()
	if !ok || r.any && math.Abs(d.level-r.level) <= r.near() {
		return
	}
	high := r.any && d.level > r.level
	r.any, r.level = true, d.level
	r.events = append(r.events, Event{
		Kind: StopFound, T: r.t, From: d.from, To: d.to, Level: d.level + r.origin, High: high, Rocks: r.rocks,
	})
	if r.dwells.lost%4 == 0 { // of a long trace the newest dwell hardly matters
		r.emit()
	}
}

// emit sends what changed since the last judgement. That the rocks are too few is
// no news while they are being made.
func (r *Rocking) emit() {
	j := judge(&r.segmenter, &r.scratch)
	j.rocks += r.past.rocks()
	if j.rocks > r.rocks {
		r.events = append(r.events, Event{Kind: RockCounted, T: r.t, Rocks: j.rocks})
	}
	r.rocks = j.rocks
	now := j.faults &^ faultBit(analysis.TooFewRocks)
	for i, f := range faultOrder {
		bit := faultSet(1) << i
		switch {
		case now&bit != 0 && r.emitted&bit == 0:
			r.events = append(r.events, Event{Kind: FaultRaised, T: r.t, Fault: f, Rocks: j.rocks})
		case now&bit == 0 && r.emitted&bit != 0:
			r.events = append(r.events, Event{Kind: FaultCleared, T: r.t, Fault: f, Rocks: j.rocks})
		}
	}
	r.emitted = now
}

// lookAgain judges every two seconds while the value stands still, which may be
// a gauge that froze.
func (r *Rocking) lookAgain() {
	const long, every = 3, 2 // s
	if r.rocks == 0 || r.t < r.look || r.still.now.length() < long {
		return
	}
	r.look = r.t + every
	r.emit()
}
