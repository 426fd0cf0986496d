package simbench

import "math"

// work plans something that takes seconds and leaves the indicator alone.
func (h *hands) work(seconds float64, done func()) {
	h.plan = append(h.plan, move{length: seconds, shape: h.still(), done: done})
}

func (h *hands) fitCentre() {
	h.work(600, func() {
		h.gears.mean += h.gears.centreShift
		h.gears.centreShift = 0
		h.gears.capsTight = false
	})
}

// moveAdjusters turns both adjusters; the caps are eased for it.
func (h *hands) moveAdjusters(notches int) {
	h.work(20+10*math.Abs(float64(notches)), func() {
		h.gears.capsTight = false
		h.gears.notches += float64(notches)
	})
}

func (h *hands) torqueCaps() {
	h.work(60, func() { h.gears.capsTight = true })
}

// A click wrench in the hand: seconds, and the share of the set torque.
const (
	pullSpread   = 0.012 // standard deviation of the click about the set torque
	pullRest     = 0.8   // between bolts
	clickDrop    = 0.05
	clickRemains = 0.45
	releaseTime  = 0.35
)

// pullBolt plans one pull: a ramp up to the click, the drop, the release.
func (h *hands) pullBolt(target float64) {
	peak := target * (1 + pullSpread*h.rand.NormFloat64())
	ramp := between(h.rand, 0.9, 1.6)
	h.plan = append(h.plan, move{length: pullRest + ramp + clickDrop + releaseTime, shape: h.still(),
		bolt: func(t float64) float64 {
			t -= pullRest
			switch {
			case t < 0:
				return 0
			case t < ramp:
				return peak * math.Sin(t/ramp*math.Pi/2)
			case t < ramp+clickDrop:
				return peak * (1 - (1-clickRemains)*(t-ramp)/clickDrop)
			default:
				return peak * clickRemains * math.Max(0, 1-(t-ramp-clickDrop)/releaseTime)
			}
		}})
}

// The pinion on its bearings: N·m and seconds.
const (
	runningTorque  = 1.60
	breakawayShare = 1.5
	coggingTorque  = 0.08
	pinionTurnTime = 1.6
)

// preloadTurn plans turning the pinion evenly: it breaks away, then runs with a
// little cogging once a turn.
func (h *hands) preloadTurn(turns float64) {
	running := runningTorque * between(h.rand, 0.9, 1.1)
	phase := between(h.rand, 0, 2*math.Pi)
	const rise, settle = 0.3, 0.15
	h.plan = append(h.plan, move{length: pinionTurnTime * turns, shape: h.still(),
		pinion: func(t float64) float64 {
			if t < rise {
				return running * breakawayShare * t / rise
			}
			extra := (breakawayShare - 1) * math.Exp(-(t-rise)/settle)
			return running*(1+extra) + coggingTorque*math.Sin(2*math.Pi*t/pinionTurnTime+phase)
		}})
	h.work(0.5, nil)
}

// An airLine is a pressure line that was filled and shut off. Pressures are
// gauge pressures in kPa.
type airLine struct {
	filledAt, target float64
	fill             float64 // what did not come back after shutting off, settles away
	leak             float64 // kPa a minute
	warming          float64 // K a minute of the gas
}

const (
	atmosphere  = 101.325 // kPa
	roomTemp    = 293.15  // K
	fillSeconds = 12
	settleTime  = 20.0
)

func (h *hands) pressurise(target float64) {
	air := airLine{target: target, fill: target * 0.01, leak: between(h.rand, 0.15, 0.4),
		warming: between(h.rand, -0.02, 0.02)}
	h.plan = append(h.plan, move{length: fillSeconds, shape: h.still(), begin: func(start float64) {
		air.filledAt = start + fillSeconds
		h.air = air
	}})
}

// at is the pressure in kPa at second t of the bench's clock.
func (a airLine) at(t float64) float64 {
	if a.target == 0 {
		return 0
	}
	since := t - a.filledAt
	if since < 0 {
		return a.target * (1 + since/fillSeconds)
	}
	minutes := since / 60
	p := a.target + a.fill*(math.Exp(-since/settleTime)-1) - a.leak*minutes
	return (p+atmosphere)*(1+a.warming*minutes/roomTemp) - atmosphere
}
