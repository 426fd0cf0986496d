package logger

import (
	"math"

	"crownlog/analysis"
)

const (
	defaultLift  = 0.8 // mm beyond the last stop that no backlash reaches
	setDownAfter = 0.2 // seconds back within reach of the stops
	settledAfter = 3.0 // seconds after which a plunger that moves little stands on a tooth with another zero
	settledRange = 1.0 // mm of movement that is little
)

// A plunger lifted and set down within tapSeconds, twice with no more than
// tapGap between, is the gesture for going back: nobody turns a wheel in that
// time.
const (
	tapSeconds = 0.9
	tapGap     = 1.5
)

// A liftChange is what one sample did to a liftGesture.
type liftChange int

const (
	liftNone liftChange = iota
	liftStarted
	liftOver
)

// A liftGesture tells a plunger that was lifted off the gear, or a wheel turned
// on to another tooth, from rocking: the reading goes far outside the two
// stops and comes back.
type liftGesture struct {
	limit float64 // mm
	up    bool

	known     bool    // there is a level to be far from
	level     float64 // of the rest seen last
	far       int     // samples in a row out of reach
	back      float64 // time since which the reading is within reach again; NaN: it is not
	since     float64 // when the range below began
	started   float64 // when the lift under way, or the last one, began
	ended     float64 // when the plunger came back within reach
	low, high float64 // of the readings since then
}

// rest tells where the wheel rests against a stop.
func (g *liftGesture) rest(level float64) {
	if !g.up {
		g.level, g.known = level, true
	}
}

// add takes a sample. Two readings in a row out of reach start a lift, so that
// one wild reading does not.
func (g *liftGesture) add(s analysis.Sample) liftChange {
	if !g.known {
		g.level, g.known = s.X, true
		return liftNone
	}
	away := math.Abs(s.X-g.level) > g.limit
	if g.up {
		return g.waiting(s, away)
	}
	if !away {
		g.far = 0
		return liftNone
	}
	g.far++
	if g.far < 2 {
		return liftNone
	}
	g.up, g.far, g.back = true, 0, math.NaN()
	g.since, g.low, g.high = s.T, s.X, s.X
	g.started = s.T
	return liftStarted
}

// waiting follows a lifted plunger until it stands on a tooth again: back
// within reach for a moment, or moving to and fro a little at another level.
func (g *liftGesture) waiting(s analysis.Sample, away bool) liftChange {
	if away {
		g.back = math.NaN()
		return g.elsewhere(s)
	}
	if math.IsNaN(g.back) {
		g.back = s.T
	}
	if s.T-g.back < setDownAfter {
		return liftNone
	}
	g.ended = g.back
	return g.land(s)
}

// tap reports whether the last lift was too short to have turned the wheel.
func (g *liftGesture) tap() bool { return g.ended-g.started < tapSeconds }

func (g *liftGesture) land(s analysis.Sample) liftChange {
	g.up, g.level = false, s.X
	return liftOver
}

// elsewhere notices rocking at a level out of reach of the old one: readings
// that move, and for some seconds by no more than a backlash does. A plunger
// held up does not move at all.
func (g *liftGesture) elsewhere(s analysis.Sample) liftChange {
	g.low, g.high = math.Min(g.low, s.X), math.Max(g.high, s.X)
	if g.high-g.low > settledRange {
		g.since, g.low, g.high = s.T, s.X, s.X
	}
	if s.T-g.since < settledAfter {
		return liftNone
	}
	if g.high-g.low < stillRange {
		g.since = s.T
		return liftNone
	}
	g.ended = s.T
	return g.land(s)
}

// stillRange is the most that a plunger moves that hangs free, in mm.
const stillRange = 0.02
