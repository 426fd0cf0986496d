package simbench

import "math"

// How a person rocks a crown wheel, in seconds and mm.
const (
	shortDwell, longDwell = 0.40, 0.90
	shortMove, longMove   = 0.16, 0.34
	partialShare          = 0.05  // of half rocks that stop short, never two running
	windUp                = 0.001 // elastic give of gear and arm under the push, at one stop
	windUpTime            = 0.12
	impact                = 0.004 // bounce on reaching a stop
	impactTime            = 0.03
	impactHz              = 22.0
	liftHeight            = 3.5
)

// level is where the indicator stands at a stop.
func (h *hands) level(high bool) float64 {
	if high {
		return h.base + h.gears.backlash(h.angle) + h.slipped
	}
	return h.base
}

// planHalfRock plans one traverse to the other stop and the rest there, or a
// traverse that stops short and goes back.
func (h *hands) planHalfRock() {
	from, to := h.level(h.high), h.level(!h.high)
	if short := h.rand.Float64() < partialShare; short && !h.partial {
		h.partial = true
		back := from + (to-from)*between(h.rand, 0.5, 0.8)
		h.plan = append(h.plan, h.traverse(from, back, false), h.traverse(back, from, true), h.dwell(h.high))
		return
	}
	h.partial = false
	h.high = !h.high
	if h.high && h.slipPerRock != 0 {
		h.slipped += h.slipPerRock
		to += h.slipPerRock
	}
	h.plan = append(h.plan, h.traverse(from, to, true), h.dwell(h.high))
}

// traverse moves from one reading to another; into a stop it arrives at speed.
func (h *hands) traverse(from, to float64, intoStop bool) move {
	length := between(h.rand, shortMove, longMove)
	return move{length: length, shape: func(t float64) float64 {
		s := math.Min(t/length, 1)
		if intoStop {
			s = math.Pow(s, 1.7)
		} else {
			s = s * s * (3 - 2*s)
		}
		return from + (to-from)*s
	}}
}

// dwell rests at a stop: the bounce dies away, then the push winds the gear up
// by a micron or so.
func (h *hands) dwell(high bool) move {
	level, push, side := h.level(high), between(h.rand, 0.6, 1.4), -1.0
	if high {
		side = 1
	}
	bounce := impact * between(h.rand, 0.3, 1)
	return move{length: between(h.rand, shortDwell, longDwell), shape: func(t float64) float64 {
		give := windUp * push * (1 - math.Exp(-t/windUpTime))
		ring := bounce * math.Exp(-t/impactTime) * math.Sin(2*math.Pi*impactHz*t)
		return level + side*(give+ring)
	}}
}

// still holds what the wheel and the mount show now.
func (h *hands) still() func(float64) float64 {
	at := h.level(h.high)
	switch {
	case h.lifted:
		at = h.base + liftHeight
	case h.mount != Tooth:
		at = h.base + h.gears.face[h.mount].at(h.angle)
	}
	return func(float64) float64 { return at }
}

// lift plans raising the plunger.
func (h *hands) lift() {
	if h.lifted {
		return
	}
	from := h.still()(0)
	h.lifted = true
	h.plan = append(h.plan, h.traverse(from, h.base+liftHeight, false))
}

// turnTo plans lifting, turning and setting down. On a face or a bore the
// plunger stays on.
func (h *hands) turnTo(angleDeg float64) {
	step := math.Mod(angleDeg-h.angle+720, 360)
	if h.mount != Tooth && !h.lifted {
		h.turnOn(step, 1.2+step/90)
		return
	}
	h.lift()
	up := h.base + liftHeight
	length := between(h.rand, 1.3, 2.1)
	h.plan = append(h.plan, move{length: length, turning: step / length,
		shape: func(float64) float64 { return up },
		done:  func() { h.angle = math.Mod(angleDeg+360, 360) },
	}, h.later(func() { h.setDown(up) }))
}

// later runs f when the plan comes to it; f may plan more.
func (h *hands) later(f func()) move { return move{shape: h.still(), begin: func(float64) { f() }} }

// setDown puts the plunger on the tooth at the present angle; from is what the
// indicator shows before, zero when it was not on.
func (h *hands) setDown(from float64) {
	h.base = math.Round(between(h.rand, -0.15, 0.15)*1000) / 1000
	h.lifted, h.high, h.slipped = false, false, 0
	if from != 0 {
		h.plan = append([]move{h.traverse(from, h.level(false), true)}, h.plan...)
	}
}

// stand plans moving the indicator elsewhere.
func (h *hands) stand(m Mount) {
	h.lift()
	h.plan = append(h.plan, move{length: 2, shape: h.still(), done: func() {
		h.mount = m
		h.rocking = h.rocking && m == Tooth
		h.setDown(0)
	}})
}

// secondsPerTurn is how fast a fitter turns the wheel under an indicator.
const secondsPerTurn = 24

// turnOn plans turning the wheel by degrees with the plunger on a face or bore.
func (h *hands) turnOn(degrees, seconds float64) {
	if degrees == 0 || seconds <= 0 {
		return
	}
	m := move{length: seconds, turning: degrees / seconds}
	var start float64
	m.begin = func(float64) { start = h.angle }
	m.shape = func(t float64) float64 {
		return h.base + h.gears.face[h.mount].at(start+m.turning*t)
	}
	h.plan = append(h.plan, m)
}
