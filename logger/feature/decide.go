package feature

import (
	"fmt"
	"math"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
)

// Decides says what would decide what is too close to call: more rocks, a finer
// gauge, the adjusters, or nothing. Of several places it is the one nearest to a
// limit. It is "" where the whole is decided, or where that is not known.
func (a Assessment) Decides() string {
	c, off := record.Capture{}, math.Inf(1)
	for _, r := range a.Results {
		for _, limit := range []float64{a.Spec.Limits.Lower, a.Spec.Limits.Upper} {
			if d := math.Abs(r.Capture.Value - limit); r.Verdict == gum.TooClose && d < off {
				c, off = r.Capture, d
			}
		}
	}
	open := a.Verdict == gum.TooClose || a.Verdict == gum.NotDecided && c.ID > 0
	switch {
	case !open:
		return ""
	case a.TooCoarse():
		return "No reading with this gauge proves it inside: only a finer gauge can."
	case c.ID == 0, !record.IsBacklash(a.Feature):
		return ""
	}
	place, p := fmt.Sprintf("%s %d", Capitalise(a.place), c.Position), Point(c)
	rocks := gum.Doubt{Value: p.Value, U: p.U, Own: p.Random, N: c.N}.Enough(a.Spec.Limits, mostRocks)
	byHand := gum.Guarding(c.HandU, c.HandU)              // all that is left with a gauge without error
	aside := (a.Spec.Limits.Width() - a.Round.Spread) / 2 // from the outermost places to the limits, moved to the middle
	switch {
	case rocks > c.N && c.Quality != record.QualityKeyed:
		return fmt.Sprintf("%s may be decided by %d rocks: measure it again.", place, rocks)
	case c.HandU > 0 && gum.Judge(c.Value, byHand, a.Spec.Limits).Verdict != gum.TooClose:
		return place + " takes a finer gauge to decide: more rocks do not help."
	case !a.Complete: // where the others lie is not known
	case a.Stage != record.StageAsFound && aside > gum.Coverage*p.U:
		return place + " lies on the limit: no reading decides it, moving the adjusters does."
	case c.HandU > 0:
		return place + " lies on the limit: nothing decides it as the axle is."
	}
	return ""
}
