package analysis

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
	"crownlog/analysis/units"
)

// A RoundPoint is the value at one position around the wheel.
type RoundPoint struct {
	Position int     // 1-based
	AngleDeg float64 // of the wheel
	Value    float64 // NaN: not measured, as if the point were not there
	U        float64 // standard uncertainty, twice which covers 95 %; NaN or 0: unknown, and nothing is proven by the point
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
	SpreadU    float64 // root mean square of the points' standard uncertainties, for SpreadFactor; NaN: one is unknown
	Tightest   RoundPoint
	Loosest    RoundPoint
	Outside    []int       // positions whose value lies beyond the window, proven or not
	Missing    []int       // positions not measured
	H1         Harmonic    // once around; zero with fewer than three angles
	H2         Harmonic    // twice around, when H2Known
	H2Known    bool        // eight angles or more that can show it
	ResidualSD float64     // what the harmonics leave; NaN when they meet every point
	Verdict    gum.Verdict // NotDecided while positions are missing, unless failure is proven already
	Reason     string      // the verdict in a few words
}

// MinimumForSecond is how many indexed points it takes to tell twice-around
// from the rest. Four cannot, and five to seven leave nothing to check it by.
const MinimumForSecond = 8

// AnalyseRound sums up the points of a round of that many positions (0: as
// many as there are points) and judges them by the spec's acceptance rule. The
// order of the points does not matter. A position measured twice counts with
// the later point.
func AnalyseRound(p []RoundPoint, positions int, spec RoundSpec) Round {
	points := LatestPoints(p)
	r := Round{N: len(points), Mean: math.NaN(), StdDev: math.NaN(), Spread: math.NaN(), SpreadU: math.NaN(), ResidualSD: math.NaN()}
	r.Missing = missingPositions(points, positions)
	if len(points) == 0 {
		r.Reason = "nothing measured yet"
		return r
	}
	values := make([]float64, len(points))
	r.Tightest, r.Loosest = points[0], points[0]
	for i, q := range points {
		values[i] = q.Value
		if q.Value < r.Tightest.Value {
			r.Tightest = q
		}
		if q.Value > r.Loosest.Value {
			r.Loosest = q
		}
		if spec.Limits.Any() && !spec.Limits.Contains(q.Value) {
			r.Outside = append(r.Outside, q.Position)
		}
	}
	r.Mean, r.StdDev = stat.Mean(values), stat.StdDev(values)
	r.Spread, r.SpreadU = r.Loosest.Value-r.Tightest.Value, commonU(points)
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
	sortPoints(points)
	return points
}

// sortPoints orders by position, then angle, then value: the same for every
// order the points came in.
func sortPoints(p []RoundPoint) {
	slices.SortStableFunc(p, func(a, b RoundPoint) int {
		return cmp.Or(cmp.Compare(a.Position, b.Position), cmp.Compare(a.AngleDeg, b.AngleDeg), cmp.Compare(a.Value, b.Value))
	})
}

func missingPositions(points []RoundPoint, positions int) []int {
	seen := make(map[int]bool, len(points))
	for _, q := range points {
		seen[q.Position] = true
	}
	var missing []int
	for i := 1; i <= positions; i++ {
		if !seen[i] {
			missing = append(missing, i)
		}
	}
	return missing
}

// harmonics fits once and, with enough angles, twice around.
func (r *Round) harmonics(points []RoundPoint, values []float64) {
	angles := make([]float64, 0, len(points))
	for _, q := range points {
		if !stat.Finite(q.AngleDeg) {
			return
		}
		angles = append(angles, q.AngleDeg)
	}
	if DistinctAngles(angles) >= MinimumForSecond {
		if f, err := FitHarmonics(angles, values, 1, 2); err == nil {
			r.H1, r.H2, r.H2Known, r.ResidualSD = f.Harmonics[0], f.Harmonics[1], true, f.ResidualSD
			return
		}
	}
	if f, err := FitHarmonics(angles, values, 1); err == nil {
		r.H1, r.ResidualSD = f.Harmonics[0], f.ResidualSD
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
	hasSpread, hasFloor := spec.MaxSpread > 0, spec.Floor > 0
	if !spec.Limits.Any() && !hasSpread && !hasFloor {
		r.Reason = "no window to judge by"
		return
	}
	var parts []rulePart
	if spec.Limits.Any() {
		parts = append(parts, windowPart(points, r, spec))
	}
	if hasFloor {
		d := gum.Judge(r.Tightest.Value, r.Tightest.U, gum.Limits{Lower: spec.Floor, Upper: math.NaN(), Unit: spec.Limits.Unit})
		parts = append(parts, newPart(d, "position "+strconv.Itoa(r.Tightest.Position)+" against the floor "+units.Short(spec.Floor)))
	}
	if hasSpread && len(points) > 1 {
		d := JudgeSpread(points, spec.MaxSpread)
		parts = append(parts, newPart(d, "spread "+units.Short(r.Spread)+" against "+units.Short(spec.MaxSpread)))
	}
	r.Verdict, r.Reason = worst(parts)
	if spec.Rule == RuleAnyInside && r.Verdict == gum.Outside && len(r.Missing) > 0 && len(parts) > 0 && parts[0].verdict == gum.Outside {
		// One of the positions still to come may be the one inside.
		r.Verdict, r.Reason = worst(parts[1:])
	}
	if len(r.Missing) > 0 && r.Verdict != gum.Outside {
		r.Verdict, r.Reason = gum.NotDecided, "not measured: "+positionList(r.Missing)
	}
}

// A rulePart is one condition of an acceptance rule.
type rulePart struct {
	verdict gum.Verdict
	what    string // what was judged; of one not decided, why
}

func newPart(d gum.Decision, what string) rulePart {
	if d.Verdict == gum.NotDecided {
		what += ": " + d.Reason
	}
	return rulePart{d.Verdict, what}
}

// windowPart judges the values against the window as the rule says.
func windowPart(points []RoundPoint, r *Round, spec RoundSpec) rulePart {
	switch spec.Rule {
	case RuleTightestInside:
		d := gum.Judge(r.Tightest.Value, r.Tightest.U, spec.Limits)
		return newPart(d, "tightest position "+strconv.Itoa(r.Tightest.Position)+" at "+units.Short(r.Tightest.Value))
	case RuleAnyInside:
		best := rulePart{gum.Outside, "no position inside"}
		for _, q := range points {
			d := gum.Judge(q.Value, q.U, spec.Limits)
			if rank(d.Verdict) < rank(best.verdict) {
				best = newPart(d, "position "+strconv.Itoa(q.Position)+" at "+units.Short(q.Value))
			}
		}
		return best
	}
	var sets [4][]int
	var unsure []RoundPoint
	for _, q := range points {
		v := gum.Judge(q.Value, q.U, spec.Limits).Verdict
		sets[rank(v)] = append(sets[rank(v)], q.Position)
		if v == gum.NotDecided {
			unsure = append(unsure, q)
		}
	}
	if len(sets[rank(gum.Outside)]) == 0 && len(unsure) > 0 {
		return rulePart{gum.NotDecided, undecided(unsure, spec.Limits)}
	}
	for _, v := range []gum.Verdict{gum.Outside, gum.TooClose} {
		if s := sets[rank(v)]; len(s) > 0 {
			return rulePart{v, positionList(s)}
		}
	}
	return rulePart{gum.Inside, "every position"}
}

// undecided says how points whose uncertainty is not known lie as they read.
func undecided(points []RoundPoint, l gum.Limits) string {
	var beyond []int
	for _, q := range points {
		if !l.Contains(q.Value) {
			beyond = append(beyond, q.Position)
		}
	}
	if len(beyond) == 0 {
		return gum.AsReadInside
	}
	return positionList(beyond) + ": " + gum.AsReadOutside
}

// rank orders verdicts from good to bad.
func rank(v gum.Verdict) int {
	switch v {
	case gum.Inside:
		return 0
	case gum.TooClose:
		return 1
	case gum.Outside:
		return 3
	}
	return 2
}

// worst returns the worst verdict of the parts and why.
func worst(parts []rulePart) (gum.Verdict, string) {
	w := rulePart{gum.NotDecided, "no window to judge by"}
	for i, p := range parts {
		if i == 0 || rank(p.verdict) > rank(w.verdict) {
			w = p
		}
	}
	switch w.verdict {
	case gum.NotDecided:
		return w.verdict, w.what
	case gum.Inside:
		return w.verdict, "all conditions met"
	}
	return w.verdict, w.what + ": " + string(w.verdict)
}

// positionList writes "position 3" or "positions 3, 5 and 8".
func positionList(p []int) string {
	if len(p) == 1 {
		return fmt.Sprintf("position %d", p[0])
	}
	words := make([]string, len(p))
	for i, v := range p {
		words[i] = strconv.Itoa(v)
	}
	last := len(words) - 1
	return "positions " + strings.Join(words[:last], ", ") + " and " + words[last]
}
