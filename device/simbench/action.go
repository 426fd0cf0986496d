package simbench

import "math"

// An Action is one thing the hands do; the functions of this package make
// them, and Bench.Do queues them.
type Action struct {
	do            func(h *hands)
	needsListener bool // it is done for a gauge's sake and waits for a listener
}

// A Mount is where the indicator stands.
type Mount string

// The places for the indicator.
const (
	Tooth    Mount = "tooth"     // plunger at the heel of a tooth, for backlash
	BackFace Mount = "back-face" // plunger square to the crown wheel's back face
	Flange   Mount = "flange"    // plunger axial on the carrier flange
	Bore     Mount = "bore"      // plunger radial on the carrier's pilot
)

// Rock rocks the wheel between its stops until the next action.
func Rock() Action { return Action{do: func(h *hands) { h.rock(true) }} }

// Rest takes the hands off the wheel.
func Rest() Action { return Action{do: func(h *hands) { h.rock(false) }} }

// TurnTo lifts the plunger, turns the wheel to angleDeg and
// sets the plunger down on the tooth there. What the hands did before, rocking
// or resting, goes on.
func TurnTo(angleDeg float64) Action { return Action{do: func(h *hands) { h.turnTo(angleDeg) }} }

// Flick lifts the plunger for a moment and lets it down where it was.
func Flick() Action {
	return Action{do: func(h *hands) {
		h.lift()
		h.plan = append(h.plan, h.later(func() {
			h.setDown(h.base + liftHeight)
			h.plan = append(h.plan, move{length: 0.4, shape: h.still()})
		}))
	}}
}

// Stand moves the indicator to another place.
func Stand(m Mount) Action { return Action{do: func(h *hands) { h.stand(m) }} }

// SteadyTurn turns the wheel slowly and evenly with the plunger on, one turn
// in 24 seconds.
func SteadyTurn(turns float64) Action {
	return Action{do: func(h *hands) { h.turnOn(360*turns, secondsPerTurn*turns) }, needsListener: true}
}

// FitCentre fits another centre to the crown wheel, which comes to sit about a
// tenth of backlash nearer the pinion or farther from it, by the seed.
func FitCentre() Action {
	return work(600, func(g *gearSet) {
		g.mean += g.centreShift
		g.centreShift = 0
		g.capsTight = false
	})
}

// MoveAdjusters moves both adjusters by the same notches, + the crown wheel
// towards the pinion. The caps are eased for it.
func MoveAdjusters(notches float64) Action {
	return work(20+10*math.Abs(notches), func(g *gearSet) {
		g.capsTight = false
		g.notches += notches
	})
}

// TorqueCaps tightens the bearing caps fully, which shifts the backlash by one
// or two hundredths.
func TorqueCaps() Action { return work(60, func(g *gearSet) { g.capsTight = true }) }

// work takes seconds, leaves the indicator alone and changes the gears.
func work(seconds float64, change func(*gearSet)) Action {
	return Action{do: func(h *hands) {
		h.plan = append(h.plan, move{length: seconds, shape: h.still(), done: func() { change(h.gears) }})
	}}
}

// PullBolt pulls one bolt with the click wrench to about target N·m.
func PullBolt(target float64) Action {
	return Action{do: func(h *hands) { h.pullBolt(target) }, needsListener: true}
}

// PreloadTurn turns the pinion steadily through the torque meter.
func PreloadTurn(turns float64) Action {
	return Action{do: func(h *hands) { h.preloadTurn(turns) }, needsListener: true}
}

// Pressurise fills the air line to about target kPa, lets it settle and shuts
// it off.
func Pressurise(target float64) Action {
	return Action{do: func(h *hands) { h.pressurise(target) }, needsListener: true}
}

// SlipPinion lets the held pinion creep while rocking, so that one stop walks
// away by mmPerRock; 0 holds it firmly again.
func SlipPinion(mmPerRock float64) Action {
	return Action{do: func(h *hands) { h.slipPerRock, h.slipped = mmPerRock, 0 }}
}

// PressZero presses the indicator's zero button where it stands now.
func PressZero() Action { return Action{do: func(h *hands) { h.zeroPressed = true }} }

// PressUnit flips the indicator between mm and inch.
func PressUnit() Action { return Action{do: func(h *hands) { h.inch = !h.inch }} }

// Garble spoils the next lines of the indicator.
func Garble(lines int) Action { return Action{do: func(h *hands) { h.garble += lines }} }
