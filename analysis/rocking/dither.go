package rocking

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/digit"
	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// measureNoise estimates what the noise and the digits leave of doubt in the level of
// one dwell.
func (j *judgement) measureNoise() {
	within, cores := j.s.values[:0], 0
	for _, c := range j.s.dwelt {
		if c.Core > 1 {
			within = append(within, c.Sumsq/float64(c.Core-1))
			cores += c.Core
		}
	}
	if n := len(within); n > 0 {
		noise := digit.Undither(stat.MedianInPlace(within), j.tr.Count())
		j.blur = noise / math.Sqrt(float64(cores)/float64(n))
		j.blind = math.Sqrt(digit.Bias2(noise, j.tr.Count()))
	}
}

// measureDither estimates how far the readings at each stop spread, so that both
// the noise and the small differences between rocks count: either moves the digits.
func (j *judgement) measureDither() {
	// Less noise than this part of a count hides from averages more than a third of what
	// a still gauge hides, as a deviation: digit.Bias2.
	const stillest = 5
	s, q := j.s, j.tr.Count()
	for i, side := range [...]series{s.low, s.high} {
		j.varies[i] = side.vary(s.values)
	}
	if j.nudged { // the low stops are where they were put
		j.varies[0] = j.varies[1]
	}
	for _, v := range j.varies {
		dither := digit.Undither(v.within+v.between, q)
		j.hidden += digit.Bias2(dither, q) / 2
		j.still = j.still || dither < q/stillest
	}
}

// lookForClipping looks for a stop that is perfectly flat and identical every
// time while the other one varies: the plunger at the end of its travel. It
// speaks only when a sound stop, even one in the middle of a count, would seldom look
// like that, by the scatter of the hand that the other stop shows, which if any is the
// usual, or by its noise; that must be rarer still, since a stop that creeps looks
// noisy. Where both are well below a count it cannot tell.
func (j *judgement) lookForClipping() {
	q := j.tr.Count()
	for i, flat := range j.varies {
		other := j.varies[1-i]
		if min(flat.dwells, other.dwells) < minRocks || flat.readings < minRocks*dwells.MinDwellN || flat.span > q/2 {
			continue
		}
		var noise, scatter float64
		if other.span > q/2 {
			scatter = math.Max(digit.Undither(other.between, q), handScatter)
		}
		if other.span > q+q/2 { // over more than two counts, which an edge does not
			noise = digit.Undither(other.within, q)
		}
		j.flat = j.flat || scatter > 0 || q <= handScatter
		if digit.AllOnOne(noise, q, flat.readings) < seldom*seldom || digit.AllOnOne(scatter, q, flat.dwells) < seldom {
			j.faults.add(analysis.EndOfTravel)
			j.refuse = true
		}
	}
}

// A variation is how the settled readings of one stop vary: the variance within its
// dwells and between their levels, and the range of all.
type variation struct {
	dwells, readings      int
	within, between, span float64
}

func (s series) vary(room []float64) (v variation) {
	levels := room[:0]
	lo, hi := math.Inf(1), math.Inf(-1)
	for c := range s.used {
		levels = append(levels, c.Level)
		v.readings += c.Core
		v.within += c.Sumsq
		lo, hi = math.Min(lo, c.Min), math.Max(hi, c.Max)
	}
	v.dwells, v.span = len(levels), hi-lo
	v.within /= math.Max(1, float64(v.readings-v.dwells))
	v.between = stat.Square(stat.StdDev(levels))
	return v
}
