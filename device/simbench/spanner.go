package simbench

import "math"

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
	breakawayShare = 1.5
	coggingTorque  = 0.08
	pinionTurnTime = 1.6
)

// preloadTurn plans turning the pinion evenly: it breaks away, then runs with a
// little cogging once a turn.
func (h *hands) preloadTurn(turns float64) {
	running := h.gears.running()
	phase := between(h.rand, 0, 2*math.Pi)
	const rise, settle = 0.3, 0.15
	h.plan = append(h.plan, move{length: pinionTurnTime * turns, shape: h.still(),
		pinion: func(t float64) float64 {
			if t < rise {
				return running * breakawayShare * t / rise
			}
			extra := (breakawayShare - 1) * math.Exp(-(t-rise)/settle)
			return running*(1+extra) + coggingTorque*math.Sin(2*math.Pi*t/pinionTurnTime+phase)
		}}, move{length: 0.5, shape: h.still()})
}

// An airLine is a pressure line that was filled and shut off.
type airLine struct {
	filledAt float64
	target   float64 // kPa, gauge pressure; 0: never filled
	leak     float64 // kPa a minute
}

const (
	atmosphere  = 101.325 // kPa
	roomTemp    = 20.5    // °C
	zeroCelsius = 273.15  // K
	fillSeconds = 12
	fillHeat    = 1.5  // K by which filling warms the air
	coolingTime = 90.0 // s
)

func (h *hands) pressurise(target float64) {
	h.plan = append(h.plan, move{length: fillSeconds, shape: h.still(), begin: func(start float64) {
		h.air = airLine{filledAt: start + fillSeconds, target: target, leak: h.gears.leak}
	}})
}

// celsius is the temperature of the air in the line at second t of the bench's
// clock.
func (a *airLine) celsius(t float64) float64 {
	since := t - a.filledAt
	if a.target == 0 || since < 0 {
		return roomTemp
	}
	return roomTemp + fillHeat*math.Exp(-since/coolingTime)
}

// at is the gauge pressure in kPa at second t: it leaks, and follows the
// temperature as a gas of constant volume does.
func (a *airLine) at(t float64) float64 {
	since := t - a.filledAt
	switch {
	case a.target == 0:
		return 0
	case since < 0:
		return a.target * (1 + since/fillSeconds)
	}
	p := a.target + atmosphere - a.leak*since/60
	warm := zeroCelsius + roomTemp + fillHeat
	return p*(zeroCelsius+a.celsius(t))/warm - atmosphere
}
