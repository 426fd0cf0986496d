package rocking

import (
	"math"
	"math/rand/v2"

	"crownlog/analysis"
)

// A rockTrace describes one simulated trace of a rocked wheel. All of them are
// invented; the truth is Backlash.
type rockTrace struct {
	Seed       uint64
	Hands      string // "scripted": ramps and rests; "driven": a mass pushed against springs
	Backlash   float64
	Zero       float64 // reading at the low stop
	Invert     bool
	Rate       float64 // readings a second
	Jitter     float64 // of the time of a reading, share of the interval
	Drop       float64 // share of readings missing
	Burst      int     // readings that share a time stamp
	Resolution float64
	Noise      float64
	Scatter    float64 // of a stop from rock to rock
	Rocks      int
	Dwell      float64        // s
	Uneven     float64        // share by which rests differ
	Traverse   float64        // s
	Shape      string         // "cosine", "straight", "tail"
	WindUp     float64        // creep at a stop under the push
	Creep      float64        // of the base over the trace
	Partial    int            // rocks that do not reach a stop
	Fault      analysis.Fault // "": sound
}

// make returns the samples.
func (c rockTrace) make() []analysis.Sample {
	rng := rand.New(rand.NewPCG(c.Seed, 99))
	var path func(t float64) float64
	var end float64
	if c.Hands == "driven" {
		path, end = c.driven(rng)
	} else {
		path, end = c.scripted(rng)
	}
	flip := end * (0.35 + 0.3*rng.Float64())
	down := rng.IntN(2) == 0
	path = c.spoil(path, end, rng)
	if c.Fault == analysis.UnitFlip {
		return c.read(path, end, rng, func(t float64) float64 {
			switch {
			case t < flip:
				return 1
			case down:
				return 1 / 25.4
			}
			return 25.4
		})
	}
	return c.read(path, end, rng, func(float64) float64 { return 1 })
}

// A leg is a motion to a level followed by a rest there.
type leg struct{ start, arrive, leave, from, to float64 }

// legs scripts the hands.
func (c rockTrace) legs(rng *rand.Rand) []leg {
	var l []leg
	t := 0.0
	at := 0.0
	partial := map[int]bool{}
	for len(partial) < c.Partial {
		partial[2+rng.IntN(2*c.Rocks-2)] = true
	}
	n := 2*c.Rocks + rng.IntN(2)
	for i := range n {
		level := 0.0
		if i%2 == 1 {
			level = c.Backlash
		}
		if partial[i] {
			level += (c.Backlash/2 - level) * (0.4 + 1.2*rng.Float64())
		}
		level += c.Scatter * rng.NormFloat64()
		travel := c.Traverse * (0.8 + 0.4*rng.Float64())
		if i == 0 {
			travel, at = 0, level
		}
		dwell := c.Dwell * (1 + c.Uneven*rng.Float64())
		if c.Fault == analysis.NoDwell {
			dwell, travel = 0, 0.35+0.5*rng.Float64()
			if i == 0 {
				travel = 0
			}
		}
		l = append(l, leg{start: t, arrive: t + travel, leave: t + travel + dwell, from: at, to: level})
		t += travel + dwell
		at = level
	}
	return l
}

func (c rockTrace) scripted(rng *rand.Rand) (func(float64) float64, float64) {
	l := c.legs(rng)
	if c.Fault == analysis.EndFloat {
		l = c.floating(l, rng)
	}
	k := 0
	end := l[len(l)-1].leave
	tau := 0.08 + 0.2*rng.Float64()
	return func(t float64) float64 {
		for k+1 < len(l) && t > l[k].leave {
			k++
		}
		for k > 0 && t < l[k].start {
			k--
		}
		g := l[k]
		if t >= g.arrive {
			push := c.WindUp * (1 - math.Exp(-(t-g.arrive)/tau))
			if g.to < c.Backlash/2 {
				push = -push
			}
			return g.to + push
		}
		u := (t - g.start) / (g.arrive - g.start)
		from := g.from
		switch c.Shape {
		case "straight":
		case "tail":
			u = 1 - math.Exp(-6*u)
		default:
			u = (1 - math.Cos(math.Pi*u)) / 2
		}
		return from + (g.to-from)*u
	}, end
}

// floating adds the third level of a carrier with end float: some of the
// motions towards the high stop rest on the way at one level.
func (c rockTrace) floating(l []leg, rng *rand.Rand) []leg {
	level := c.Backlash * (0.35 + 0.35*rng.Float64())
	var out []leg
	shift := 0.0
	for i, g := range l {
		g.start += shift
		g.arrive += shift
		g.leave += shift
		if i > 0 && g.to > c.Backlash/2 && (i/2)%4 != 3 {
			rest := c.Dwell * (0.8 + 0.4*rng.Float64())
			half := (g.arrive - g.start) / 2
			out = append(out, leg{start: g.start, arrive: g.start + half, leave: g.start + half + rest, from: g.from, to: level})
			g.start, g.arrive, g.leave = g.start+half+rest, g.start+2*half+rest, g.leave+rest
			g.from = level
			shift += rest
		}
		out = append(out, g)
	}
	return out
}

// driven simulates a wheel of some inertia, pushed to and fro by a hand whose
// force changes over smoothly, against two stiff oily stops, and read by an
// indicator that follows with a lag. It shares nothing with scripted.
func (c rockTrace) driven(rng *rand.Rand) (func(float64) float64, float64) {
	const dt = 0.0005
	halfPeriod := c.Dwell + c.Traverse
	var xs []float64
	stiff := 1.0 / math.Max(c.WindUp, 1e-4) // push of 1 gives WindUp at the stop
	x, v := 0.0, 0.0
	force := -1.0
	sign := -1.0
	drag := 0.8 * c.Traverse / c.Backlash // a push of 1 crosses in about a traverse
	n := 2*c.Rocks + rng.IntN(2)
	follow := 0.0
	lag := 0.01
	lean := 0.03 + 0.15*rng.Float64() // s in which a hand brings its push to bear
	low, high := 0.0, c.Backlash
	for range n {
		hold := halfPeriod * (1 + c.Uneven*rng.Float64())
		for s := 0.0; s < hold; s += dt {
			force += (sign - force) * dt / lean
			contact := 0.0
			if x > high {
				contact = -(x - high) * stiff
			} else if x < low {
				contact = -(x - low) * stiff
			}
			// overdamped: the oil takes the inertia out
			v = (force + contact) / drag
			if contact != 0 { // implicit: the stop is far stiffer than the step allows
				v /= 1 + stiff*dt/drag
			}
			x += v * dt
			follow += (x - follow) * dt / lag
			xs = append(xs, follow)
		}
		sign = -sign
		if sign > 0 {
			high = c.Backlash + c.Scatter*rng.NormFloat64()
		} else {
			low = c.Scatter * rng.NormFloat64()
		}
	}
	end := float64(len(xs)-1) * dt
	return func(t float64) float64 {
		i := int(t / dt)
		return xs[max(0, min(i, len(xs)-1))]
	}, end
}

// spoil brings the fault into the path; Zero, Creep and polarity too.
func (c rockTrace) spoil(path func(float64) float64, end float64, rng *rand.Rand) func(float64) float64 {
	when := end * (0.35 + 0.3*rng.Float64())
	size := c.Backlash * (0.3 + 0.7*rng.Float64())
	if rng.IntN(2) == 0 {
		size = -size
	}
	gradual := rng.IntN(2) == 0
	long := 1 + 2*rng.Float64()
	lift := 2 + 6*rng.Float64()
	return func(t float64) float64 {
		x := path(t)
		switch c.Fault {
		case analysis.PinionSlip:
			part := 0.0
			if gradual {
				part = t / end
			} else if t > when {
				part = 1
			}
			x += size * 0.6 * part * math.Max(0, math.Min(1, x/c.Backlash))
		case analysis.ZeroShift:
			if t > when {
				x += size
			}
		case analysis.OffGear:
			if t > when && t < when+long {
				x += lift
			}
		}
		x += c.Creep * t / end
		if c.Invert {
			x = -x
		}
		x += c.Zero
		return x
	}
}

// read takes the readings of the gauge.
//
// scale is the unit shown over time; the gauge counts 0.01 mm or 0.0005 in.
func (c rockTrace) read(path func(float64) float64, end float64, rng *rand.Rand, scale func(float64) float64) []analysis.Sample {
	dt := 1 / c.Rate
	when := end * (0.35 + 0.3*rng.Float64())
	long := 2.5*(c.Dwell+c.Traverse) + 10*dt
	clip := c.Backlash * (0.4 + 0.4*rng.Float64())
	side := rng.IntN(2) == 0
	offset := rng.Float64() * c.Resolution
	var s []analysis.Sample
	var stuck float64
	held := false
	stamp, inBurst := 0.0, 0
	for t := 0.0; t <= end; t += dt {
		at := math.Max(0, t+c.Jitter*dt*(rng.Float64()-0.5))
		x := path(at) + c.Noise*rng.NormFloat64() + offset
		if c.Fault == analysis.EndOfTravel {
			lo, hi := c.Zero, c.Zero+clip
			if c.Invert {
				lo, hi = c.Zero-c.Backlash, c.Zero-c.Backlash+clip
			}
			if side {
				x = math.Min(x, hi)
			} else {
				x = math.Max(x, lo+c.Backlash-clip)
			}
		}
		q := c.Resolution
		if k := scale(t); k != 1 {
			x *= k
			q *= math.Pow(20, math.Copysign(1, k-1))
		}
		if q > 0 {
			x = math.Round(x/q) * q
		}
		if c.Fault == analysis.Frozen && t > when && t < when+long {
			if !held {
				held, stuck = true, x
			}
			x = stuck
		}
		if c.Fault == analysis.Gaps && t > when && t < when+long {
			continue
		}
		if rng.Float64() < c.Drop {
			continue
		}
		if c.Burst > 1 {
			if inBurst%c.Burst == 0 {
				stamp = at
			}
			inBurst++
			at = stamp
		}
		s = append(s, analysis.Sample{T: at, X: x})
	}
	return s
}

// naive is what a fitter with a drag pointer reads: the largest less the
// smallest reading.
func naive(s []analysis.Sample) float64 {
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range s {
		lo, hi = math.Min(lo, v.X), math.Max(hi, v.X)
	}
	return hi - lo
}

func pick[T any](rng *rand.Rand, v ...T) T { return v[rng.IntN(len(v))] }

// soundTrace draws a trace without a fault: design conditions, a resolution of
// count and a noise in the same unit.
func soundTrace(seed uint64, count, noise float64) rockTrace {
	rng := rand.New(rand.NewPCG(seed, 7))
	c := rockTrace{
		Seed:       seed,
		Hands:      pick(rng, "scripted", "scripted", "driven"),
		Backlash:   0.08 + 0.22*rng.Float64(),
		Zero:       pick(rng, 0, -0.05, 1.2, 7) * rng.Float64(),
		Invert:     rng.IntN(2) == 0,
		Rate:       pick(rng, 10.0, 20, 50, 100, 200),
		Jitter:     pick(rng, 0, 0.3),
		Drop:       pick(rng, 0, 0, 0.03),
		Resolution: count,
		Noise:      noise,
		Scatter:    pick(rng, 0, 0.0005, 0.001),
		Rocks:      6,
		Dwell:      0.3 + 0.5*rng.Float64(),
		Uneven:     pick(rng, 0, 0.5, 1),
		Traverse:   0.12 + 0.25*rng.Float64(),
		Shape:      pick(rng, "cosine", "straight"),
		WindUp:     0.0015 * rng.Float64(),
	}
	if c.Hands == "driven" {
		c.WindUp /= 2 // its hands push at once: none of it shows
	}
	if rng.IntN(8) == 0 && c.Hands == "scripted" {
		c.Partial = 1
	}
	if c.Rate >= 50 && rng.IntN(8) == 0 {
		c.Burst = 3
	}
	return c
}
