package simbench

import (
	"math"
	"math/rand/v2"
)

// hands are a person at the bench: a queue of things to do and the movement
// under way. Times are seconds on the bench's clock, lengths mm of the
// indicator.
type hands struct {
	rand  *rand.Rand
	gears *gearSet
	queue []Action
	plan  []move // movements of the action under way, in order
	now   move   // the movement under way

	mount   Mount
	angle   float64 // of the wheel, degrees
	base    float64 // what the indicator shows at the low stop, or on a level face
	alone   bool    // nobody listens to a gauge
	rocking bool    // what to do when nothing is queued
	lifted  bool
	partial bool // the last half rock stopped short
	high    bool // the wheel rests at, or was last sent to, the high stop

	slipPerRock, slipped float64
	zeroPressed, inch    bool
	garble               int

	air airLine
}

// A move is one movement: it holds from start for length seconds.
type move struct {
	start, length float64
	shape         func(t float64) float64 // indicator at t seconds into the movement
	turning       float64                 // degrees of wheel a second
	bolt          func(t float64) float64 // N·m in the wrench, nil: none
	pinion        func(t float64) float64 // N·m at the pinion, nil: none
	begin         func(start float64)     // what the movement does when it begins, may be nil
	done          func()                  // what it has changed when it ends, may be nil
	habit         bool                    // done for want of anything queued
}

func (m move) end() float64 { return m.start + m.length }

func newHands(seed int64, g *gearSet) *hands {
	h := &hands{rand: newRand(seed, handStream), gears: g, mount: Tooth}
	h.setDown(0)
	h.now = move{shape: h.still(), habit: true}
	return h
}

// advance brings the hands to second t, starting queued actions on the way.
func (h *hands) advance(t float64) {
	for t >= h.now.end() {
		h.begin(h.next())
	}
}

// finish does what is queued, up to the first action that needs a listener,
// and returns the time it is done.
func (h *hands) finish(clock float64) float64 {
	h.alone = true
	defer func() { h.alone = false }()
	h.advance(clock)
	for h.ready() || !h.now.habit {
		clock = h.now.end()
		h.begin(h.next())
	}
	return clock
}

// begin ends the movement under way and starts m.
func (h *hands) begin(m move) {
	m.start = h.now.end()
	h.angle = math.Mod(h.angle+h.now.turning*h.now.length, 360)
	if h.now.done != nil {
		h.now.done()
	}
	h.now = m
	if m.begin != nil {
		m.begin(m.start)
	}
}

// ready reports whether the next queued action can begin.
func (h *hands) ready() bool { return len(h.queue) > 0 && !(h.alone && h.queue[0].needsListener) }

// next is the next movement: of the plan, else of the queue, else of habit.
func (h *hands) next() move {
	for len(h.plan) == 0 && h.ready() {
		a := h.queue[0]
		h.queue = h.queue[1:]
		a.do(h)
	}
	if len(h.plan) == 0 {
		h.planHabit()
	}
	m := h.plan[0]
	h.plan = h.plan[1:]
	return m
}

// planHabit plans a little of what the hands do when nothing is queued.
func (h *hands) planHabit() {
	if h.rocking && !h.lifted {
		h.planHalfRock()
	} else {
		h.plan = append(h.plan, move{length: 0.05, shape: h.still()})
	}
	for i := range h.plan {
		h.plan[i].habit = true
	}
}

// shown is what a perfect indicator would show at second t of the movement
// under way.
func (h *hands) shown(t float64) float64 { return h.now.shape(t - h.now.start) }

// rock makes rocking the habit, or resting, with the plunger down.
func (h *hands) rock(on bool) {
	if h.rocking = on; h.lifted {
		h.setDown(h.base + liftHeight)
	}
}
