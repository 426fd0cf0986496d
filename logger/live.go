package logger

import (
	"cmp"
	"math"
	"slices"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/setup"
)

// Words of Capture.Quality besides the fault words of analysis.
const (
	QualityOK       = "ok"
	QualityKeyed    = "keyed"
	QualityRejected = "rejected"    // undone: what it supersedes does not stand
	QualityBound    = "upper-bound" // the wheel never rested; the value is at most this
)

// Live returns the captures that stand, in order: neither superseded by a
// later one nor rejected. Rejecting a capture brings back the one it had
// superseded, until a new capture supersedes the rejection.
func Live(cs []Capture) []Capture {
	st := standing(cs)
	live := make([]Capture, 0, max(0, len(cs)-len(st.dead)))
	for _, c := range cs {
		if !st.dead[c.ID] {
			live = append(live, c)
		}
	}
	return live
}

// A standState says by ID which captures do not stand, and what each rejection
// brought back (0: nothing).
type standState struct {
	dead       map[int]bool
	supersedes map[int]int
	revived    map[int]int
}

func standing(cs []Capture) standState {
	st := standState{dead: make(map[int]bool), supersedes: make(map[int]int), revived: make(map[int]int)}
	for _, c := range cs {
		if c.Supersedes > 0 {
			st.supersedes[c.ID] = c.Supersedes
			st.dead[c.Supersedes] = true
			if back := st.revived[c.Supersedes]; back > 0 {
				st.dead[back] = true
			}
		}
		if c.Quality == QualityRejected {
			st.dead[c.ID] = true
			st.revive(c.ID, st.supersedes[c.Supersedes])
		}
	}
	return st
}

// revive brings back what a rejected capture had superseded; where that was a
// rejection itself, what that one had brought back.
func (st standState) revive(rejection, earlier int) {
	if back, rejected := st.revived[earlier]; rejected {
		earlier = back
	}
	delete(st.dead, earlier)
	st.revived[rejection] = earlier
}

// Standing is Live for one feature in one stage. Backlash and contact pattern
// measured before the last adjuster move, in whatever stage it was made, do not
// describe the gear any more and are left out. What was as found stays as it
// was found, unless the adjusters were moved in that stage itself.
func Standing(cs []Capture, stage, name string) []Capture {
	live := liveOf(cs, stage, name)
	if !movedByAdjuster(name) {
		return live
	}
	moved := lastMove(cs, stage)
	return slices.DeleteFunc(live, func(c Capture) bool { return c.ID < moved })
}

// EmptiedByMove reports whether an adjuster move took away what was measured of
// a feature in a stage, and nothing was measured there since.
func EmptiedByMove(cs []Capture, stage, name string) bool {
	if !movedByAdjuster(name) {
		return false
	}
	live := liveOf(cs, stage, name)
	return len(live) > 0 && live[len(live)-1].ID < lastMove(cs, stage)
}

func movedByAdjuster(name string) bool {
	return name == FeatureBacklash || name == FeaturePatternDrive || name == FeaturePatternCoast
}

// lastMove is the ID of the last standing adjuster move that changed what is
// measured in a stage, 0 if there is none.
func lastMove(cs []Capture, stage string) int {
	gone := make(map[int]bool) // by a line that was passed
	for i := len(cs) - 1; i >= 0; i-- {
		c := &cs[i]
		if c.Feature != FeatureMove && c.Quality != QualityLost {
			continue
		}
		if c.Supersedes > 0 {
			gone[c.Supersedes] = true
		}
		moved := c.Feature == FeatureMove && c.Quality != QualityRejected && !gone[c.ID]
		if moved && (stage != StageAsFound || c.Stage == StageAsFound) {
			return c.ID
		}
	}
	return 0
}

// liveOf is Live for one feature in one stage, whatever the adjusters did. A
// stand-in for a lost line may supersede a capture of any feature.
func liveOf(cs []Capture, stage, name string) []Capture {
	var of []Capture
	for _, c := range cs {
		if c.Stage == stage && c.Feature == name || c.Quality == QualityLost {
			of = append(of, c)
		}
	}
	return slices.DeleteFunc(Live(of), func(c Capture) bool { return c.Stage != stage || c.Feature != name })
}

// Points returns the standing values of a feature in a stage, one a position,
// the latest where there are several, in order of position. Captures without
// a value are left out. Backlash is in the terms of the sheet.
func Points(s Sheet, cs []Capture, stage, name string) []analysis.RoundPoint {
	return latestPoints(s.InTerms(Standing(cs, stage, name)), func(c Capture) bool { return c.Position > 0 })
}

// latestPoints makes points of the captures wanted, the latest of each
// position, in order of position.
func latestPoints(cs []Capture, wanted func(Capture) bool) []analysis.RoundPoint {
	latest := make(map[int]analysis.RoundPoint)
	for _, c := range cs {
		if wanted(c) && !math.IsNaN(c.Value) {
			latest[c.Position] = analysis.RoundPoint{
				Position: c.Position, AngleDeg: c.AngleDeg, Value: c.Value, U: c.U,
			}
		}
	}
	points := make([]analysis.RoundPoint, 0, len(latest))
	for _, p := range latest {
		points = append(points, p)
	}
	slices.SortFunc(points, func(a, b analysis.RoundPoint) int { return cmp.Compare(a.Position, b.Position) })
	return points
}

// PatternOf returns the contact entered for pattern-drive or pattern-coast,
// false until both its places are there.
func PatternOf(cs []Capture, stage, name string) (setup.Contact, bool) {
	p := Points(Sheet{}, cs, stage, name)
	if len(p) < 2 {
		return setup.Contact{}, false
	}
	return setup.Contact{Along: p[0].Value, Up: p[1].Value}, true
}

// lastTime is when the latest standing capture of a feature was made.
func lastTime(cs []Capture, stage, name string) (t time.Time) {
	for _, c := range Standing(cs, stage, name) {
		if c.Time.After(t) {
			t = c.Time
		}
	}
	return t
}
