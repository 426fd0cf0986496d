package rocking

import (
	"math"
	"math/rand/v2"

	"crownlog/analysis"
)

// A rockHand is a fourth kind of simulated rocking: what hands do. A stroke
// has the bell-shaped speed of a reaching arm; it may hesitate on the way and
// slip on; at the stop gear and arm give way as a spring, fast or slow, and
// come back as the push comes off; the hand does not find the same place twice
// (1 to 3 µm, common practice, no source). It shares nothing with rockTrace
// and rockWave. All traces are invented; the truth is Backlash.
// Source of the stroke: Flash and Hogan 1985, minimum-jerk trajectory.
type rockHand struct {
	Seed       uint64
	Backlash   float64
	Zero       float64 // reading at the low stop
	Invert     bool
	Rate       float64 // readings a second
	Jitter     float64 // of the time of a reading, share of the interval
	Packet     float64 // s: readings come in packets and share their time; 0: singly
	Resolution float64
	Noise      float64
	Scatter    float64 // of a stop from rock to rock
	Rocks      int
	Dwell      float64        // s
	Uneven     float64        // share by which rests differ
	Stroke     float64        // s
	Spring     float64        // give at a stop under the usual push
	Tau        float64        // s in which it gives
	Push       float64        // relative scatter of the push
	Stick      bool           // half of the strokes hesitate for 0.03 to 0.12 s
	Drift      float64        // of the base over the trace
	Fault      analysis.Fault // "": sound
}

// A handPart is a piece of the motion: a stroke or pause between two levels,
// or a rest under a push.
type handPart struct {
	from, to float64 // s
	a, b     float64
	push     float64
	open     bool
}

func (c rockHand) parts(rng *rand.Rand) []handPart {
	var l []handPart
	t, at := 0.0, 0.0
	move := func(length, to float64) {
		l = append(l, handPart{from: t, to: t + length, a: at, b: to})
		t, at = t+length, to
	}
	for i := range 2*c.Rocks + 1 {
		target, sign := c.Scatter*rng.NormFloat64(), -1.0
		if i%2 == 1 {
			target, sign = target+c.Backlash, 1
		}
		stroke := c.Stroke * (0.7 + 0.6*rng.Float64())
		switch {
		case i == 0:
			at = target
		case c.Stick && rng.IntN(2) == 0:
			move(0.55*stroke, at+(target-at)*(0.2+0.6*rng.Float64()))
			move(0.03+0.09*rng.Float64(), at)
			move(0.55*stroke, target)
		default:
			move(stroke, target)
		}
		length := c.Dwell * (1 + c.Uneven*rng.Float64())
		push := sign * c.Spring * (1 + c.Push*rng.NormFloat64())
		l = append(l, handPart{from: t, to: t + length, a: target, push: push, open: true})
		t += length
	}
	return l
}

func (p *handPart) at(t, tau float64) float64 {
	u := math.Max(0, math.Min(1, (t-p.from)/math.Max(1e-9, p.to-p.from)))
	if !p.open {
		return p.a + (p.b-p.a)*u*u*u*(10-15*u+6*u*u)
	}
	const release = 0.04 // s in which the push comes off before the hand turns round
	push := p.push * (1 - math.Exp(-(t-p.from)/tau))
	return p.a + push*math.Min(1, (p.to-t)/release)
}

// make returns the samples.
func (c rockHand) make() []analysis.Sample {
	rng := rand.New(rand.NewPCG(c.Seed, 1985))
	parts := c.parts(rng)
	end := parts[len(parts)-1].to
	spoil := c.spoil(end, rng)
	offset := rng.Float64() * c.Resolution
	var s []analysis.Sample
	k := 0
	for i := 0; ; i++ {
		t := (float64(i) + c.Jitter*(rng.Float64()-0.5)) / c.Rate
		if t >= end {
			return s
		}
		for k+1 < len(parts) && t > parts[k].to {
			k++
		}
		for k > 0 && t < parts[k].from {
			k--
		}
		x, q, ok := spoil(t, parts[k].at(math.Max(t, 0), c.Tau), c.Noise*rng.NormFloat64()+offset)
		if !ok {
			continue
		}
		if q > 0 {
			x = math.Round(x/q) * q
		}
		if c.Packet > 0 {
			t = math.Ceil(t/c.Packet) * c.Packet
		}
		s = append(s, analysis.Sample{T: t, X: x})
	}
}

// spoil returns what the gauge shows at t of the true x, noise added: the
// fault, drift, zero and polarity, the count it shows it in, and whether it
// shows anything.
func (c rockHand) spoil(end float64, rng *rand.Rand) func(t, x, noise float64) (float64, float64, bool) {
	when := end * (0.3 + 0.4*rng.Float64())
	size := 0.3 + 0.5*rng.Float64() // share of the backlash
	sign := pick(rng, -1.0, 1)
	sudden := rng.IntN(2) == 0
	long := 2.5*(c.Dwell+c.Stroke) + 10/c.Rate
	clip := c.Backlash * (0.4 + 0.4*rng.Float64())
	lift := sign * (1 + 4*rng.Float64())
	polarity := 1.0
	if c.Invert {
		polarity = -1
	}
	held := math.NaN()
	return func(t, x, noise float64) (float64, float64, bool) {
		q := c.Resolution
		share := math.Max(0, math.Min(1, x/c.Backlash))
		during := t > when && t < when+long
		scale := 1.0
		switch {
		case c.Fault == analysis.PinionSlip && sudden && t > when:
			x += size * c.Backlash * share
		case c.Fault == analysis.PinionSlip && !sudden:
			x += size * c.Backlash * share * t / end
		case c.Fault == analysis.ZeroShift && t > when:
			x += sign * math.Max(0.03, size*c.Backlash)
		case c.Fault == analysis.OffGear && during:
			x += lift
		case c.Fault == analysis.UnitFlip && t > when:
			scale, q = 1/inch, q/20
		case c.Fault == analysis.Gaps && during:
			return 0, 0, false
		}
		x = c.Zero + polarity*(x+c.Drift*t/end)
		if c.Fault == analysis.EndOfTravel {
			stop := c.Zero + polarity*clip
			if polarity > 0 {
				return math.Min(x+noise, stop), q, true
			}
			return math.Max(x+noise, stop), q, true
		}
		x = (x + noise) * scale
		if c.Fault == analysis.Frozen && during {
			if math.IsNaN(held) {
				held = x
			}
			x = held
		}
		return x, q, true
	}
}

// handTrace draws rocking as hands do it, without a fault.
func handTrace(seed uint64, count, noise float64) rockHand {
	rng := rand.New(rand.NewPCG(seed, 17))
	c := rockHand{
		Seed:       seed,
		Backlash:   0.08 + 0.22*rng.Float64(),
		Zero:       pick(rng, 0, 0.3*rng.Float64(), -0.2, 1.7, -6.3),
		Invert:     rng.IntN(2) == 0,
		Rate:       pick(rng, 8.0, 10, 15, 25, 50, 100, 200, 500, 1000),
		Jitter:     pick(rng, 0, 0.1, 0.3),
		Resolution: count,
		Noise:      noise,
		Scatter:    0.001 + 0.002*rng.Float64(),
		Rocks:      3 + rng.IntN(6),
		Dwell:      0.35 + 0.8*rng.Float64(),
		Uneven:     pick(rng, 0, 0.3, 0.8),
		Stroke:     0.15 + 0.35*rng.Float64(),
		Spring:     0.003 * rng.Float64(),
		Tau:        0.02 * math.Pow(12.5, rng.Float64()), // 0.02 to 0.25 s
		Push:       pick(rng, 0.05, 0.2),
		Stick:      rng.IntN(3) == 0,
	}
	if c.Rate < 12 {
		c.Dwell = math.Max(c.Dwell, 3.4/c.Rate)
	}
	if rng.IntN(3) == 0 {
		c.Packet = 0.016
	}
	return c
}

// faultyHand draws such rocking with a fault.
func faultyHand(seed uint64, count, noise float64, f analysis.Fault) rockHand {
	rng := rand.New(rand.NewPCG(seed, 23))
	c := handTrace(seed, count, noise)
	c.Rocks, c.Fault = 6, f
	if f == analysis.BaseCreep {
		c.Drift = pick(rng, -1.0, 1) * math.Max(0.02, c.Backlash*(0.15+0.5*rng.Float64()))
	}
	return c
}
