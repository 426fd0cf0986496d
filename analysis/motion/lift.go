package motion

import (
	"math"

	"crownlog/analysis"
)

const (
	DefaultLift  = 0.8 // mm beyond the last stop that no backlash reaches
	setDownAfter = 0.2 // seconds back within reach of the stops
	settledAfter = 3.0 // seconds after which a plunger that moves little stands on a tooth with another zero
	settledRange = 1.0 // mm of movement that is little
)

// A plunger lifted and set down within tapSeconds, twice with no more than
// TapGap between, is the gesture for going back: nobody turns a wheel in that
// time.
const (
	tapSeconds = 0.9
	TapGap     = 1.5
)

// A LiftChange is what one sample did to a Lift.
type LiftChange int

const (
	LiftNone    LiftChange = iota // none
	LiftStarted                   // the plunger is off its tooth
	LiftOver                      // it stands on a tooth again, the same or another
)

// A Lift tells a plunger that was lifted off the gear, or a wheel turned
// on to another tooth, from rocking: the reading goes far outside the two
// stops and comes back.
type Lift struct {
	Limit float64 // mm beyond which a reading is out of reach of the stops; to be set
	Up    bool    // the plunger is lifted

	known     bool    // there is a level to be far from
	level     float64 // of the rest seen last
	Far       int     // samples in a row out of reach
	back      float64 // time since which the reading is within reach again; NaN: it is not
	since     float64 // when the range below began
	Started   float64 // when the lift under way, or the last one, began
	Ended     float64 // when the plunger came back within reach
	low, high float64 // of the readings since then
}

// Rest tells where the wheel rests against a stop.
func (g *Lift) Rest(level float64) {
	if !g.Up {
		g.level, g.known = level, true
	}
}

// Add takes a sample. Two readings in a row out of reach start a lift, so that
// one wild reading does not.
func (g *Lift) Add(s analysis.Sample) LiftChange {
	if !g.known {
		g.level, g.known = s.X, true
		return LiftNone
	}
	away := math.Abs(s.X-g.level) > g.Limit
	if g.Up {
		return g.waiting(s, away)
	}
	if !away {
		g.Far = 0
		return LiftNone
	}
	if g.Far++; g.Far < 2 {
		return LiftNone
	}
	g.Up, g.Far, g.back = true, 0, math.NaN()
	g.since, g.low, g.high = s.T, s.X, s.X
	g.Started = s.T
	return LiftStarted
}

// waiting follows a lifted plunger until it stands on a tooth again: back
// within reach for a moment, or moving to and fro a little at another level.
func (g *Lift) waiting(s analysis.Sample, away bool) LiftChange {
	if away {
		g.back = math.NaN()
		return g.elsewhere(s)
	}
	if math.IsNaN(g.back) {
		g.back = s.T
	}
	if s.T-g.back < setDownAfter {
		return LiftNone
	}
	g.Up, g.level, g.Ended = false, s.X, g.back
	return LiftOver
}

// Tap reports whether the last lift was too short to have turned the wheel.
func (g *Lift) Tap() bool { return g.Ended-g.Started < tapSeconds }

// elsewhere notices rocking at a level out of reach of the old one: readings
// that move, and for some seconds by no more than a backlash does. A plunger
// held up does not move at all.
func (g *Lift) elsewhere(s analysis.Sample) LiftChange {
	g.low, g.high = math.Min(g.low, s.X), math.Max(g.high, s.X)
	if g.high-g.low > settledRange {
		g.since, g.low, g.high = s.T, s.X, s.X
	}
	if s.T-g.since < settledAfter {
		return LiftNone
	}
	if g.high-g.low < stillRange {
		g.since = s.T
		return LiftNone
	}
	g.Up, g.level, g.Ended = false, s.X, s.T
	return LiftOver
}

// stillRange is the most that a plunger moves that hangs free, in mm.
const stillRange = 0.02
