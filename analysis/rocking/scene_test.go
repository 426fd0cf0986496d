package rocking

import (
	"math"
	"math/rand/v2"

	"crownlog/analysis"
)

// A scene is a fifth kind of simulated rocking: a hand, a stop that gives way or
// holds a film, and a gauge that filters, averages, bursts or keeps silent. The
// motion is laid out on a grid of a millisecond and then read by the gauge, so
// that hand and gauge are known apart. It knows nothing of the detector. All of
// it is invented; the truth is backlash, the distance of the two contacts.
type scene struct {
	backlash float64
	zero     float64
	invert   bool
	rocks    int
	dwell    [2]float64 // s, from and to
	stroke   [2]float64 // s
	shape    func(u float64) float64
	scatter  float64 // of a contact from rock to rock

	give, giveTau float64 // goes on outward of the contact by so much: arm, gear or rubber gives way
	film, filmTau float64 // lies inward of the contact by so much until it is squeezed out

	pause    float64 // share of strokes that pause on the way
	pauseFor [2]float64
	float    float64 // share of the backlash at which the carrier rests on the way up
	drift    float64 // of the base over the trace
	slip     float64 // of the high stop, drifting or from a moment on
	nudge    float64 // half-width of what the base is moved by in every rest at the low stop
	bump     float64 // of both stops from a moment on

	rate    float64
	jitter  float64 // share of the interval
	count   float64
	noise   float64
	lag     float64 // s, first order
	average int     // readings in a moving mean
	burst   int     // readings handed on together, with one time
	change  bool    // sends only a reading that differs from the last one sent
	stall   float64 // s for which the reader sleeps, once; then three stamps for all it missed
	wild    int     // readings that are anything, while the wheel moves
	wildAt  bool    // they come while it rests instead
	scale   float64 // of the reading from the middle on; 0: 1
	clip    float64 // share of the backlash beyond which the plunger does not go
	freeze  float64 // s for which the value is held
	silence float64 // s without a reading
	lift    float64 // mm by which the plunger is off for a while
}

func between2(rng *rand.Rand, r [2]float64) float64 { return r[0] + (r[1]-r[0])*rng.Float64() }

const tick = 0.001 // s of the grid

// motion lays out the true place of the plunger, and when the wheel moves.
func (c *scene) motion(rng *rand.Rand) (x []float64, moving []bool) {
	at, base := 0.0, 0.0
	put := func(v float64, moves bool) { x, moving = append(x, v+base), append(moving, moves) }
	stroke := func(from, to, length float64) {
		for t := 0.0; t < length; t += tick {
			put(from+(to-from)*c.shape(t/length), true)
		}
	}
	gradual := rng.IntN(2) == 0
	for i := range 2*c.rocks + 1 {
		high := i%2 == 1
		contact, out := c.scatter*rng.NormFloat64(), -1.0
		if high {
			contact, out = contact+c.backlash, 1
			gone := float64(i) / float64(2*c.rocks)
			if gradual {
				contact += c.slip * gone
			} else if gone > 0.5 {
				contact += c.slip
			}
		}
		arrive := contact - out*c.film
		length := between2(rng, c.stroke)
		switch {
		case i == 0:
		case c.float > 0 && high && i/2%4 != 3:
			third := c.float*c.backlash + c.scatter*rng.NormFloat64()
			stroke(at, third, length/2)
			for range int(between2(rng, c.dwell) / tick) {
				put(third, false)
			}
			stroke(third, arrive, length/2)
		case rng.Float64() < c.pause:
			way := at + (arrive-at)*(0.2+0.6*rng.Float64())
			stroke(at, way, length/2)
			for range int(between2(rng, c.pauseFor) / tick) {
				put(way, false)
			}
			stroke(way, arrive, length/2)
		default:
			stroke(at, arrive, length)
		}
		rest := between2(rng, c.dwell)
		nudged := rest * (0.35 + 0.3*rng.Float64())
		give := c.give * (0.8 + 0.4*rng.Float64())
		film := c.film * (0.8 + 0.4*rng.Float64())
		if i == 0 {
			give, film = 0, 0
		}
		for t := 0.0; t < rest; t += tick {
			if c.nudge > 0 && !high && t < nudged && t+tick >= nudged {
				base = c.nudge * (2*rng.Float64() - 1)
			}
			at = contact
			if give > 0 {
				at += out * give * (1 - math.Exp(-t/c.giveTau))
			}
			if film > 0 {
				at -= out * film * math.Exp(-t/c.filmTau)
			}
			put(at, false)
		}
	}
	return x, moving
}

// make returns what the gauge sent.
func (c scene) make(seed uint64) []analysis.Sample {
	rng := rand.New(rand.NewPCG(seed, 404))
	x, moving := c.motion(rng)
	n := len(x)
	middle := int(float64(n) * (0.35 + 0.3*rng.Float64()))
	for i := range x {
		x[i] += c.drift * float64(i) / float64(n)
		if i > middle {
			x[i] += c.bump
		}
		if c.lift != 0 && i > middle && i < middle+2000 {
			x[i] += c.lift
		}
	}
	if c.lag > 0 { // exact for a step held over a tick
		k := 1 - math.Exp(-tick/c.lag)
		for i, y := 1, x[0]; i < n; i++ {
			y += k * (x[i] - y)
			x[i] = y
		}
	}
	sign, offset := 1.0, rng.Float64()*c.count
	if c.invert {
		sign = -1
	}
	var s []analysis.Sample
	var past []float64
	held, last := math.NaN(), math.NaN()
	wilds := map[int]bool{}
	for step := 0; len(wilds) < c.wild && step < 10000; step++ {
		if i := rng.IntN(n); moving[i] != c.wildAt {
			wilds[int(float64(i)*tick*c.rate)] = true
		}
	}
	for i := 0; ; i++ {
		t := (float64(i) + c.jitter*(rng.Float64()-0.5)) / c.rate
		k := int(t / tick)
		if k >= n {
			break
		}
		v := x[max(k, 0)]
		if c.clip > 0 {
			v = math.Min(v, c.clip*c.backlash)
		}
		if c.average > 1 {
			past = append(past, v)
			past = past[max(0, len(past)-c.average):]
			v = 0
			for _, p := range past {
				v += p / float64(len(past))
			}
		}
		v = c.zero + sign*v
		if !(c.clip > 0 && x[max(k, 0)] > c.clip*c.backlash) {
			v += c.noise * rng.NormFloat64()
		}
		v += offset
		if wilds[i] {
			v += (rng.Float64() - 0.5) * 20
		}
		q := c.count
		if c.scale != 0 && k > middle {
			v *= c.scale
			q *= math.Pow(20, math.Copysign(1, c.scale-1))
		}
		v = math.Round(v/q) * q
		since := float64(k-middle) * tick
		if c.freeze > 0 && since > 0 && since < c.freeze {
			if math.IsNaN(held) {
				held = v
			}
			v = held
		}
		if c.silence > 0 && since > 0 && since < c.silence {
			continue
		}
		if c.change && v == last {
			continue
		}
		last = v
		if c.stall > 0 && since > 0 && since < c.stall {
			t = (float64(middle)*tick + c.stall) + 0.002*math.Floor(3*since/c.stall)
		}
		s = append(s, analysis.Sample{T: t, X: v})
	}
	for i := range s {
		if c.burst > 1 {
			s[i].T = s[min(len(s)-1, i/c.burst*c.burst+c.burst-1)].T
		}
	}
	return s
}
