package rocking

import (
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/internal/dwells"
	"crownlog/analysis/internal/stat"
)

// lookForStillness looks for a value that stopped changing: let go with a jump, the
// wheel having moved while the value stood, or for longer than the noise elsewhere
// allows, or far longer than the wheel rested otherwise.
func (j *judgement) lookForStillness() {
	const (
		longer = 1.2 // times the usual rest. Tuned on all hands: without it one sound trace in nine is called frozen
		far    = 2.5 // times the longest other rest, as far as the models hold
		again  = 1.5 // times that where the hand may have let go, at the end, and times the usual rest before a jump. Tuned as above
	)
	if j.half == 0 || j.faults.has(analysis.EndOfTravel) {
		return
	}
	jumped, longest := j.tr.Still.Jumped, j.tr.Still.Longest
	if usual, _, _, ok := j.otherDwells(jumped); ok && jumped.Length() > again*usual {
		j.faults.add(analysis.Frozen)
	}
	usual, rest, share, ok := j.otherDwells(longest)
	length := longest.Length()
	if !ok || length <= longer*usual {
		return
	}
	chance := float64(longest.N) * math.Log1p(-share) // of as many readings alike in a row, its logarithm
	if j.tr.T-longest.To < 2*j.tr.Interval {
		length /= again
	}
	if chance < -faultOdds || length > far*max(rest, j.half) {
		j.faults.add(analysis.Frozen)
	}
}

// otherDwells describes the dwells besides a run of readings all the same, if there
// are two at least: their median and greatest length, and the least share of readings
// that differ from the one before, at the level of the run where two show it.
func (j *judgement) otherDwells(l dwells.StillRun) (usual, longest, share float64, ok bool) {
	share = 1
	v := j.s.values[:0]
	close, nearby := share, 0
	for _, c := range j.s.nodes {
		if !c.dwelt || c.To > l.From && c.From < l.To {
			continue
		}
		v = append(v, c.To-c.From)
		longest = math.Max(longest, c.To-c.From)
		changes := float64(c.Changes) / float64(c.Core)
		share = math.Min(share, changes)
		if math.Abs(c.Level-l.X) < j.tr.Near() {
			nearby++
			close = math.Min(close, changes)
		}
	}
	if nearby >= 2 {
		share = close
	}
	return stat.MedianInPlace(v), longest, share, len(v) >= 2
}

// A faultSet is a set of faults that the live path can hold without
// allocating.
type faultSet uint16

// faultOrder lists the faults as they are told, causes before consequences.
var faultOrder = [...]analysis.Fault{
	analysis.UnitFlip, analysis.ZeroShift, analysis.PinionSlip, analysis.BaseCreep, analysis.OffGear, analysis.EndFloat,
	analysis.EndOfTravel, analysis.Frozen, analysis.Gaps, analysis.NoDwell, analysis.TooFewRocks,
}

// faultBit is 0 of what is no fault.
func faultBit(f analysis.Fault) faultSet { return 1 << uint(slices.Index(faultOrder[:], f)) }

func (s faultSet) has(f analysis.Fault) bool { return s&faultBit(f) != 0 }

func (s *faultSet) add(f analysis.Fault) { *s |= faultBit(f) }

func (s faultSet) list() []analysis.Fault {
	var l []analysis.Fault
	for i, f := range faultOrder {
		if s&(1<<i) != 0 {
			l = append(l, f)
		}
	}
	return l
}

// lookForGaps looks for silences in which the wheel may have moved.
func (j *judgement) lookForGaps() {
	s := j.s
	// One in twenty readings out of order, but for two, is no packet that came late.
	if 20*(j.tr.Back-2) > j.tr.N { // the time stamps tell nothing
		j.faults.add(analysis.Gaps)
		j.refuse = true
	}
	if len(s.turns) < 2 {
		return
	}
	first, last := s.turns[0].From, s.turns[len(s.turns)-1].To
	for _, g := range j.tr.Gaps.List() {
		if g.From < first || g.To > last {
			continue
		}
		// Within a dwell a silence hides nothing, unless a hurried rock fits in it.
		within := func(c *stop) bool { return c.From <= g.From && c.To >= g.To }
		if g.To-g.From > j.half || !slices.ContainsFunc(s.dwelt, within) {
			j.faults.add(analysis.Gaps)
		}
	}
}

// leastShare is the least share of a half cycle at a dwell that makes stops of
// turning points; dwells of 0.3 s between motions of 0.5 s have 0.375.
const leastShare = 0.33

// lookForDwell looks for a wheel that turned round without resting.
func (j *judgement) lookForDwell() {
	s := j.s
	bare := len(s.turns) - len(s.dwelt)
	// A third of bare turns are more than a hurried rock or two.
	hurried := bare >= minRocks && minRocks*bare >= len(s.turns) && j.rocks < minRocks
	if hurried || s.dwellShare(j.tr.Interval) < leastShare {
		j.faults.add(analysis.NoDwell)
		j.refuse = true
	}
}

// dwellShare returns the median share of a half cycle that the wheel spent at
// dwell, cleared of the time for which a cosine-shaped motion of the same swing
// looks like it:
//
//	f = length of the dwell / half cycle
//	f0 = 2/π · acos(1 - 2·depth/swing)   of a pure sine
//	share = (f - f0) / (1 - f0)
//
// The depth is that of a parabola through the dwell, as long as f is. A sine has a
// share of 0, straight ramps less. Two readings do not tell a dwell from a turn
// between them, nor does a depth of the whole swing: both have 0 as well. It is NaN
// of fewer than three stops.
func (s *judgeScratch) dwellShare(interval float64) float64 {
	v := s.values[:0]
	for i := 1; i+1 < len(s.turns); i++ {
		c := &s.turns[i]
		half := (s.turns[i+1].t - s.turns[i-1].t) / 2
		swing := (math.Abs(s.turns[i+1].Level-c.Level) + math.Abs(s.turns[i-1].Level-c.Level)) / 2
		length := c.To - c.From + interval // of which the readings span an interval less
		depth := math.Max(0, -c.outward(c.Bend)) / swing * math.Pow(length/(c.To-c.From), 2)
		switch {
		case !c.dwelt || half <= 0:
		case c.N < dwells.MinDwellN || depth >= 1:
			v = append(v, 0)
		default:
			f0 := 2 / math.Pi * math.Acos(1-2*depth)
			v = append(v, (math.Min(1, length/half)-f0)/(1-f0))
		}
	}
	if len(v) < minRocks {
		return math.NaN()
	}
	return stat.MedianInPlace(v)
}

// lookForFloat looks for dwells passed on the way at one level: the carrier rests
// against one bearing before the other. A hand pauses anywhere. Most of them must lie
// closer together than chance puts k of n within a width w of the room between the
// stops:
//
//	k·C(n,k)·(w/room)^(k-1)
//
// A display adds a count to the width: of few counts between the stops any three
// pauses are alike.
// Source: expectation of the scan statistic, Glaz, Naus and Wallenstein 2001, 2.
func (j *judgement) lookForFloat() {
	s := j.s
	if j.refuse || j.nudged {
		return
	}
	v := s.values[:0]
	near := j.least()
	low, high := j.course.level[0]+near, j.course.level[1]-near
	for _, c := range s.passed {
		if c.Level < high && c.Level > low && c.To-c.From > dwells.MinDwell {
			v = append(v, c.Level)
		}
	}
	stat.MedianInPlace(v)
	n := len(v)
	for k := max(minRocks, n/2+1); k <= n; k++ {
		width, odds := math.Inf(1), math.Log(float64(k))
		for i := range n - k + 1 {
			width = math.Min(width, v[i+k-1]-v[i]+j.tr.Count())
			if i > 0 {
				odds += math.Log(float64(k+i) / float64(i)) // in the end of C(n,k)
			}
		}
		if width < high-low && odds+float64(k-1)*math.Log(width/(high-low)) < math.Log(seldom) {
			j.faults.add(analysis.EndFloat)
			j.refuse = true
		}
	}
}
