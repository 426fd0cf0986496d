package rocking

import (
	"math"

	"crownlog/analysis"
)

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one varies: the plunger at the end of its travel. It
// speaks only when a sound stop, even one in the middle of a count, would
// hardly ever look like that, by the noise or by the scatter of the hand that
// the other stop shows; a hand that scatters at all does so by half the usual.
// Where both are well below a count it cannot tell.
func (j *judgement) lookForClipping() {
	s := j.s
	if len(s.high) < 3 || len(s.low) < 3 {
		return
	}
	for _, pair := range [][2]series{{s.high, s.low}, {s.low, s.high}} {
		flat, other := pair[0], pair[1]
		sigma := j.sideNoise(other)
		n, dwells, same := flat.identical()
		if !same || n < 9 { // three dwells of three readings
			continue
		}
		scatter, varies := j.sideScatter(other)
		if varies {
			scatter = math.Max(scatter, handScatter/2)
		}
		j.flat = j.flat || varies || other.shows() || j.tr.count() <= handScatter
		// By the noise of many readings once in 1e4 traces, by the scatter of a few
		// dwells once in 40: few dwells never make it rarer.
		if j.allOnOneCount(sigma, n) < 1e-4 || j.allOnOneCount(scatter, dwells) < 0.025 {
			j.faults.add(analysis.EndOfTravel)
			j.refuse = true
		}
	}
}

// allOnOneCount returns the probability that n values of the deviation sigma
// about the middle of a count all show that count; 1 for an unknown sigma.
func (j *judgement) allOnOneCount(sigma float64, n int) float64 {
	if sigma == 0 {
		return 1
	}
	return math.Pow(math.Erf(j.tr.count()/(2*math.Sqrt2*sigma)), float64(n))
}

// sideScatter returns the least standard deviation from rock to rock that the
// levels of a stop leave likely, and whether they differ at all.
func (j *judgement) sideScatter(side series) (least float64, varies bool) {
	const lower = 0.6 // of the estimate, what 3 to 8 levels leave at 95 %: sqrt(ν/χ²)
	sum, sumsq, n := 0.0, 0.0, 0.0
	for c := range side.used {
		d := c.level - side[0].level
		sum += d
		sumsq += d * d
		n++
	}
	v := sumsq - sum*sum/n
	if n < 3 || !(v > 0) {
		return 0, false
	}
	return lower * undither(v/(n-1), j.tr.count()), true
}

// shows reports whether readings within most dwells at the stop differ.
func (s series) shows() bool {
	moving := 0
	for _, c := range s {
		if c.max > c.min {
			moving++
		}
	}
	return 2*moving > len(s)
}

// identical returns the number of settled readings at the stop, in how many
// dwells, and whether they were the same.
func (s series) identical() (n, dwells int, same bool) {
	lo, hi := math.Inf(1), math.Inf(-1)
	for c := range s.used {
		lo, hi = math.Min(lo, c.min), math.Max(hi, c.max)
		n += c.core
		dwells++
	}
	return n, dwells, n > 0 && hi-lo <= 1e-9*math.Abs(hi)
}

// movingShare returns the share of dwells at the stop whose readings move to and
// fro over more than two counts. Two counts prove nothing: a still reading on
// the edge shows them, and how far it is from the edge is not known. Nor does
// the edge of the motion, which changes the reading only a few times.
func (j *judgement) movingShare(side series) float64 {
	moving := 0
	for c := range side.used {
		if c.max-c.min > 1.5*j.tr.count() && 4*c.changes > c.core {
			moving++
		}
	}
	return float64(moving) / math.Max(1, float64(len(side)))
}

// sideNoise returns the deviation of the readings within the dwells at a stop;
// 0 where it is not known: no dwell of many readings moved over more than two
// counts, nor did most of those of few.
func (j *judgement) sideNoise(side series) float64 {
	const many = 12
	sum, n, long := 0.0, 0, 0
	for c := range side.used {
		sum += c.sumsq
		n += c.core - 1
		if c.core >= many {
			long++
		}
	}
	share := 0.5
	if 2*long > len(side) {
		share = 0.1
	}
	if n < 3 || j.movingShare(side) < share {
		return 0
	}
	return undither(sum/float64(n), j.tr.count())
}
