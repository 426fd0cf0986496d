package simbench

import (
	"math"
	"math/rand/v2"
)

// A stream names an independent sequence of random numbers, so that one more
// draw by the hands does not change the gears.
type stream uint64

const (
	gearStream stream = iota + 1
	handStream
	dialStream
	wrenchStream
	preloadStream
	pressureStream
	temperatureStream
)

func newRand(seed int64, s stream) *rand.Rand { return rand.New(rand.NewPCG(uint64(seed), uint64(s))) }

// between draws evenly from [low, high).
func between(r *rand.Rand, low, high float64) float64 { return low + (high-low)*r.Float64() }

// eitherWay gives x a random sign.
func eitherWay(r *rand.Rand, x float64) float64 { return x * float64(2*r.IntN(2)-1) }

// A gearSet is a crown wheel and pinion in their housing. Lengths are mm of
// backlash at the heel, in the plane of rotation.
type gearSet struct {
	mean                float64
	once, twice, pinion wave
	tooth               [wheelTeeth]float64 // own error of each wheel tooth
	notchGain           float64             // per notch of the crown wheel towards the pinion
	notches             float64             // moved so far, + towards the pinion
	centreShift         float64             // what fitting the new centre does
	capShift            float64             // what torquing the caps does
	capsTight           bool
	pinionTorque        float64 // N·m, running
	carrierTorque       float64 // N·m more at the pinion once the caps are tight
	leak                float64 // kPa a minute of the air line

	face map[Mount]surface
}

// A wave is amplitude·cos(order·angle - phase), the phase in radians.
type wave struct{ order, amplitude, phase float64 }

func (w wave) at(angleDeg float64) float64 {
	return w.amplitude * math.Cos(w.order*angleDeg*math.Pi/180-w.phase)
}

// A surface is what an indicator sees on a turning face or bore, in mm.
type surface struct{ once, twice wave }

func (s surface) at(angleDeg float64) float64 { return s.once.at(angleDeg) + s.twice.at(angleDeg) }

// lashPerFace is the share of a back face's axial run-out that shows in the
// backlash of a bevel set of usual angles.
const lashPerFace = 0.65

func newGearSet(seed int64) *gearSet {
	r := newRand(seed, gearStream)
	turn := func() float64 { return between(r, 0, 2*math.Pi) }
	g := &gearSet{mean: between(r, 0.17, 0.20), notchGain: between(r, -0.046, -0.038)}
	g.capShift = eitherWay(r, between(r, 0.010, 0.020))
	g.centreShift = eitherWay(r, between(r, 0.08, 0.12))
	g.once = wave{1, eccentricity, turn()}
	g.twice = wave{2, warp, turn()}
	g.pinion = wave{float64(wheelTeeth) / pinionTeeth, pinionRunout, turn()}
	for i := range g.tooth {
		g.tooth[i] = toothError * math.Max(-2.5, math.Min(2.5, r.NormFloat64()))
	}
	g.face = map[Mount]surface{
		// The backlash is least where the face stands nearest the pinion.
		BackFace: {wave{1, g.once.amplitude / lashPerFace, g.once.phase + math.Pi},
			wave{2, g.twice.amplitude / lashPerFace, g.twice.phase + math.Pi}},
		Flange: {wave{1, between(r, 0.005, 0.015), turn()}, wave{2, 0.002, turn()}},
		Bore:   {wave{1, between(r, 0.004, 0.012), turn()}, wave{2, 0.001, turn()}},
	}
	g.pinionTorque, g.carrierTorque = between(r, 1.3, 1.6), between(r, 0.4, 0.6)
	g.leak = between(r, 0.15, 0.40)
	return g
}

// running is the torque in N·m that turns the pinion.
func (g *gearSet) running() float64 {
	if g.capsTight {
		return g.pinionTorque + g.carrierTorque
	}
	return g.pinionTorque
}

// backlash is the true backlash with the wheel at angleDeg.
func (g *gearSet) backlash(angleDeg float64) float64 {
	b := g.mean + g.notches*g.notchGain + g.once.at(angleDeg) + g.twice.at(angleDeg) + g.pinion.at(angleDeg)
	n := int(math.Round(angleDeg/360*wheelTeeth)) % wheelTeeth
	b += g.tooth[(n+wheelTeeth)%wheelTeeth]
	if g.capsTight {
		b += g.capShift
	}
	return math.Max(b, 0)
}
