package analysis

import (
	"cmp"
	"math"
	"slices"

	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// A RoundPoint is the value at one position around the wheel.
type RoundPoint struct {
	Position int     // 1-based
	AngleDeg float64 // of the wheel
	Value    float64 // NaN: not measured, as if the point were not there
	U        float64 // standard uncertainty to judge by: gum.Guarding; NaN or 0: unknown, and nothing is proven by the point
	Random   float64 // the part of U that is the position's own; the rest is common to a round. 0: not known apart, and all counts as common
	Hand     float64 // the part of U that is the hand's, a rectangle; what neither is, is of the gauge and how it was set down. 0: not known apart
}

// The acceptance rules that manuals use for a round.
const (
	RuleAllInside      = "all-inside"      // every position inside the window, and the spread within its limit
	RuleTightestInside = "tightest-inside" // the tightest position inside the window, and the spread within its limit
	RuleAnyInside      = "any-inside"      // any one position inside, none below the floor, and the spread within its limit
)

// A RoundSpec is what the manual asks of a round.
type RoundSpec struct {
	Limits    gum.Limits
	MaxSpread float64 // largest allowed difference between loosest and tightest; NaN or 0: none
	Floor     float64 // no position below this; NaN or 0: none
	Rule      string  // one of the rules above; "": RuleAllInside
}

// A Round sums up a feature measured around the wheel.
type Round struct {
	N          int     // positions measured
	Mean       float64 // NaN without points
	StdDev     float64 // between the positions; NaN with fewer than two
	Spread     float64 // loosest less tightest
	SpreadU    float64 // root mean square of what lets the points differ, for SpreadFactor; NaN: of one it is unknown
	Tightest   RoundPoint
	Loosest    RoundPoint
	Outside    []int       // positions whose value lies beyond the window, proven or not
	Missing    []int       // positions not measured
	H1         Harmonic    // once around; zero with fewer than three angles
	H2         Harmonic    // twice around, when H2Known
	H2Known    bool        // eight angles or more that can show it
	ResidualSD float64     // what the harmonics leave; NaN when they meet every point
	Verdict    gum.Verdict // gum.NotDecided while positions are missing, unless failure is proven already
	Why        Why         // what decided the verdict
}

// A Part is a condition of an acceptance rule, or what stands in its way.
type Part string

// The parts of a rule.
const (
	PartNothing    Part = "nothing-measured"
	PartNoWindow   Part = "no-window"
	PartMissing    Part = "positions-missing"
	PartAll        Part = "all-conditions"     // every condition is met
	PartPositions  Part = "positions"          // each position against the window
	PartTightest   Part = "tightest-position"  // the tightest against the window
	PartAnyInside  Part = "any-position"       // the best of them against the window
	PartNoneInside Part = "no-position-inside" // not one of them
	PartFloor      Part = "floor"
	PartSpread     Part = "spread"
	PartConvention Part = "convention" // the verdict hangs on what kind of backlash is meant
)

// Why says which part of the acceptance rule gave a round its verdict.
type Why struct {
	Part      Part
	Rule      string     // the rule that was asked for
	Positions []int      // the positions it is about
	Value     float64    // what was judged
	Limit     float64    // of a floor or a spread
	Reason    gum.Reason // of a part that is not decided
}

// AnalyseRound sums up the points of a round of that many positions (0: as
// many as there are points) and judges them by the spec's acceptance rule. The
// order of the points does not matter. A position measured twice counts with
// the later point.
func AnalyseRound(p []RoundPoint, positions int, spec RoundSpec) Round {
	points := LatestPoints(p)
	r := Round{N: len(points), Mean: math.NaN(), StdDev: math.NaN(), Spread: math.NaN(), SpreadU: math.NaN(), ResidualSD: math.NaN()}
	r.Missing = missingPositions(points, positions)
	if len(points) == 0 {
		r.Why = Why{Part: PartNothing, Rule: spec.rule()}
		return r
	}
	values := make([]float64, len(points))
	byValue := func(a, b RoundPoint) int { return cmp.Compare(a.Value, b.Value) }
	r.Tightest, r.Loosest = slices.MinFunc(points, byValue), slices.MaxFunc(points, byValue)
	for i, q := range points {
		values[i] = q.Value
		if spec.Limits.Any() && !spec.Limits.Contains(q.Value) {
			r.Outside = append(r.Outside, q.Position)
		}
	}
	r.Mean, r.StdDev = stat.Mean(values), stat.StdDev(values)
	r.Spread, r.SpreadU = r.Loosest.Value-r.Tightest.Value, differingU(points)
	r.harmonics(points, values)
	r.judge(points, spec)
	return r
}

// LatestPoints returns the measured points in order of position, the later of
// two at the same position.
func LatestPoints(p []RoundPoint) []RoundPoint {
	at := make(map[int]int)
	var points []RoundPoint
	for _, q := range p {
		if !stat.Finite(q.Value) {
			continue
		}
		if i, ok := at[q.Position]; ok && q.Position > 0 {
			points[i] = q
			continue
		}
		at[q.Position] = len(points)
		points = append(points, q)
	}
	// By position, then angle, then value: the same for every order they came in.
	slices.SortStableFunc(points, func(a, b RoundPoint) int {
		return cmp.Or(cmp.Compare(a.Position, b.Position), cmp.Compare(a.AngleDeg, b.AngleDeg), cmp.Compare(a.Value, b.Value))
	})
	return points
}

func missingPositions(points []RoundPoint, positions int) (missing []int) {
	for i := 1; i <= positions; i++ {
		if !slices.ContainsFunc(points, func(q RoundPoint) bool { return q.Position == i }) {
			missing = append(missing, i)
		}
	}
	return missing
}

// harmonics fits once and, with enough angles, twice around.
func (r *Round) harmonics(points []RoundPoint, values []float64) {
	angles := make([]float64, len(points))
	for i, q := range points {
		angles[i] = q.AngleDeg
	}
	f, err := FitTurn(angles, values, DistinctAngles(angles))
	if err != nil {
		return
	}
	r.H1, r.ResidualSD = f.Harmonics[0], f.ResidualSD
	if r.H2Known = len(f.Harmonics) > 1; r.H2Known {
		r.H2 = f.Harmonics[1]
	}
}

// DistinctAngles counts angles that differ by more than a tenth of a degree,
// whole turns apart.
func DistinctAngles(angles []float64) int {
	seen := make(map[int]bool, len(angles))
	for _, a := range angles {
		seen[int(math.Round(stat.Wrap(a, 360)*10))%3600] = true
	}
	return len(seen)
}

// judge applies the acceptance rule.
func (r *Round) judge(points []RoundPoint, spec RoundSpec) {
	// Without a single limit there is nothing to be inside of, which is not the same as
	// having failed.
	hasSpread, hasFloor := spec.MaxSpread > 0, spec.Floor > 0
	if !spec.Limits.Any() && !hasSpread && !hasFloor {
		r.Why = Why{Part: PartNoWindow, Rule: spec.rule(), Reason: gum.NoWindow}
		return
	}
	var parts []rulePart
	if spec.Limits.Any() {
		parts = append(parts, windowPart(points, r, spec))
	}
	if hasFloor {
		d := gum.Judge(r.Tightest.Value, r.Tightest.U, gum.Limits{Lower: spec.Floor, Upper: math.NaN(), Unit: spec.Limits.Unit})
		parts = append(parts, rulePart{d.Verdict, Why{Part: PartFloor, Positions: []int{r.Tightest.Position}, Limit: spec.Floor, Reason: d.Reason}})
	}
	if hasSpread && len(points) > 1 {
		d := r.judgeSpread(spec.MaxSpread)
		parts = append(parts, rulePart{d.Verdict, Why{Part: PartSpread, Value: r.Spread, Limit: spec.MaxSpread, Reason: d.Reason}})
	}
	r.Verdict, r.Why = worst(parts)
	if spec.Rule == RuleAnyInside && r.Verdict == gum.Outside && len(r.Missing) > 0 && len(parts) > 0 && parts[0].verdict == gum.Outside {
		// One of the positions still to come may be the one inside.
		r.Verdict, r.Why = worst(parts[1:])
	}
	if len(r.Missing) > 0 && r.Verdict != gum.Outside {
		r.Verdict, r.Why = gum.NotDecided, Why{Part: PartMissing, Positions: r.Missing}
	}
	r.Why.Rule = spec.rule()
}

// rule is the acceptance rule by its name.
func (s RoundSpec) rule() string { return cmp.Or(s.Rule, RuleAllInside) }

// A rulePart is one condition of an acceptance rule.
type rulePart struct {
	verdict gum.Verdict
	why     Why
}

// windowPart judges the values against the window as the rule says.
func windowPart(points []RoundPoint, r *Round, spec RoundSpec) rulePart {
	one := func(part Part, q RoundPoint) rulePart {
		d := gum.Judge(q.Value, q.U, spec.Limits)
		return rulePart{d.Verdict, Why{Part: part, Positions: []int{q.Position}, Value: q.Value, Reason: d.Reason}}
	}
	switch spec.Rule {
	case RuleTightestInside:
		return one(PartTightest, r.Tightest)
	case RuleAnyInside:
		best := rulePart{gum.Outside, Why{Part: PartNoneInside}}
		for _, q := range points {
			if p := one(PartAnyInside, q); rank(p.verdict) < rank(best.verdict) {
				best = p
			}
		}
		return best
	}
	return everyPosition(points, spec.Limits)
}

// everyPosition asks for every position inside. Of those that are not it names
// the worst sort; of those whose doubt is unknown, the ones that read outside.
func everyPosition(points []RoundPoint, l gum.Limits) rulePart {
	w := rulePart{gum.Inside, Why{Part: PartPositions}}
	for _, q := range points {
		d := gum.Judge(q.Value, q.U, l)
		if rank(d.Verdict) > rank(w.verdict) {
			w = rulePart{d.Verdict, Why{Part: PartPositions, Reason: d.Reason}}
		}
		if d.Verdict == w.verdict && d.Verdict != gum.Inside && d.Reason != gum.UnknownInside {
			w.why.Positions, w.why.Reason = append(w.why.Positions, q.Position), d.Reason
		}
	}
	return w
}

// rank orders verdicts from good to bad.
func rank(v gum.Verdict) int {
	return slices.Index([]gum.Verdict{gum.Inside, gum.TooClose, gum.NotDecided, gum.Outside}, v)
}

// worst returns the worst verdict of the parts and why.
func worst(parts []rulePart) (gum.Verdict, Why) {
	w := rulePart{gum.NotDecided, Why{Part: PartNoWindow, Reason: gum.NoWindow}}
	for i, p := range parts {
		if i == 0 || rank(p.verdict) > rank(w.verdict) {
			w = p
		}
	}
	if w.verdict == gum.Inside {
		w.why = Why{Part: PartAll, Positions: parts[0].why.Positions}
	}
	return w.verdict, w.why
}
