package feature

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// An Assessment is all that is known of a feature in a stage: what was measured,
// what is missing, and what that proves about the sheet's window. Whatever is
// shown, printed, exported or waited for goes by it; nothing else compares a
// value with a limit.
type Assessment struct {
	Stage, Feature string
	Complete       bool    // measured at all its positions, of bolts in all passes
	Missing        []int   // positions that lack something
	Measured       int     // captures that count, of Needed
	Needed         int     // captures it takes
	Value          float64 // what the window is for, in the feature's unit: a mean, a full movement, a rate; NaN: none, or several
	U              float64 // its standard uncertainty, of several the largest; NaN: unknown
	Spec           analysis.RoundSpec
	Verdict        gum.Verdict
	Round          analysis.Round // the values round the wheel summed up; the verdict is the one above
	Results        []Result       // what was measured, one a position, in their order
	Runout         *runout.Result // of a run-out that could be told
	reason         reason
	place          string // what a position is called
	judge          Judge
}

// A Result is the capture that counts at one position.
type Result struct {
	Capture record.Capture // as the sheet counts it now
	Verdict gum.Verdict    // of itself: see Judge.Decide
}

// A reason is what decided, or keeps from deciding, where that is not the
// acceptance rule, which Round.Why tells of.
type reason struct {
	code  reasonCode
	words string // what the record says of it; "": the acceptance rule decided
}

type reasonCode int

// The reasons that are asked for by more than their words.
const (
	becauseOfWork       reasonCode = iota + 1 // the axle was worked on since
	becauseOfConvention                       // read in another way than the sheet says
	becauseOfPressure                         // the air was not at the test pressure
)

// assessRound judges the captures that count, of all those of the job.
func (f Feature) assessRound(judge Judge, counted, all []record.Capture, stage string) Assessment {
	s := judge.sheet
	places := f.places(s)
	a := Assessment{
		Stage: stage, Feature: f.Name, Value: math.NaN(), U: math.NaN(), Spec: judge.Spec,
		place: cmp.Or(f.place, "position"), judge: judge,
	}
	a.Needed = len(f.VisitsOf(s, places))
	if f.assess != nil {
		f.assess(&a, s, counted, all, len(places))
	} else {
		a.values(s, counted, len(places))
	}
	for _, r := range a.Results {
		if f.empty != nil && a.Verdict != gum.Outside && f.empty(s, r.Capture) != "" {
			a.Verdict, a.reason = gum.NotDecided, reason{becauseOfPressure, f.empty(s, r.Capture)}
		}
	}
	a.Complete = len(a.Missing) == 0 && a.Measured >= a.Needed
	if why := s.Unconvertible(counted); why != "" {
		a.Verdict, a.reason = gum.NotDecided, reason{becauseOfConvention, why}
	}
	return a
}

// sum takes the latest capture of each position that is wanted as the results,
// and sums their values up by the spec. A feature measured as a whole has one
// position with index 0, which counts as the first.
func (a *Assessment) sum(s sheet.Sheet, counted []record.Capture, positions int, spec analysis.RoundSpec, wanted func(record.Capture) bool) {
	var points []analysis.RoundPoint
	for _, c := range latest(s.ConvertAll(counted), wanted) {
		verdict, _, _ := a.judge.Decide(c)
		a.Results = append(a.Results, Result{c, verdict})
		if !math.IsNaN(c.Value) {
			points = append(points, Point(c))
		}
	}
	a.Round = setup.AnalyseConventions(points, positions, spec, a.judge.factors)
	a.Verdict, a.Missing = a.Round.Verdict, a.Round.Missing
	a.Measured = len(a.Results)
}

// latest is the latest capture of each position that is wanted, in order of
// position; nil: all are.
func latest(cs []record.Capture, wanted func(record.Capture) bool) []record.Capture {
	of := make(map[int]record.Capture)
	for _, c := range cs {
		if wanted == nil || wanted(c) {
			of[c.Position] = c
		}
	}
	return slices.SortedFunc(maps.Values(of), func(a, b record.Capture) int { return a.Position - b.Position })
}

// Point is a capture as a point of a round; the whole feature is its first.
func Point(c record.Capture) analysis.RoundPoint {
	p := analysis.RoundPoint{Position: max(1, c.Position), AngleDeg: c.AngleDeg, Value: c.Value, U: judgingU(c), Random: c.OwnU, Hand: c.HandU}
	if !(c.OwnU > 0) && c.Repeatability > 0 && c.N > 0 { // of before the parts were stored
		p.Random = c.Repeatability / math.Sqrt(float64(c.N))
	}
	return p
}

// judgingU is the standard uncertainty that a capture is judged by.
func judgingU(c record.Capture) float64 { return gum.Guarding(c.U, c.HandU) }

// Points returns the valid values of a feature in a stage, one a position,
// the latest where there are several, in order of position. Captures without
// a value are left out. Backlash is in the convention of the sheet.
func Points(s sheet.Sheet, cs []record.Capture, stage, name string) []analysis.RoundPoint {
	valued := func(c record.Capture) bool { return c.Position > 0 && !math.IsNaN(c.Value) }
	var points []analysis.RoundPoint
	for _, c := range latest(s.ConvertAll(record.Valid(cs, stage, name)), valued) {
		points = append(points, Point(c))
	}
	return points
}

// values judges a backlash round the wheel, or a feature with one value.
func (a *Assessment) values(s sheet.Sheet, counted []record.Capture, positions int) {
	a.sum(s, counted, positions, a.Spec, nil)
	a.Value = a.Round.Mean
	if a.Round.N > 0 {
		a.U = 0
	}
	for _, r := range a.Results {
		// The gauge's part is common to all of them, so the mean of their own is
		// the most that the mean can have.
		a.U += r.Capture.U / float64(len(a.Results))
	}
}

// undecidedWhileMissing takes back a verdict that is not proven before all is
// there: only failure is.
func (a *Assessment) undecidedWhileMissing() {
	if len(a.Missing) == 0 || a.Verdict == gum.Outside {
		return
	}
	a.Verdict, a.reason = gum.NotDecided, reason{}
	a.Round.Why = analysis.Why{Part: analysis.PartMissing, Positions: a.Missing, Rule: a.Round.Why.Rule}
}

// A Judge decides captures of one feature, each by itself.
type Judge struct {
	sheet   sheet.Sheet
	feature Feature
	Spec    analysis.RoundSpec
	factors []float64
}

// Decide is the verdict on one capture, with why it is not decided. It is false
// for what is not judged by itself: a point of a run-out, an early pull, a
// place of a pattern, a note.
func (j Judge) Decide(c record.Capture) (v gum.Verdict, why string, judged bool) {
	switch {
	case j.feature.Name == "", j.feature.partial != nil && j.feature.partial(c):
		return gum.NotDecided, "", false
	case j.feature.outside != nil && j.feature.outside(c):
		return gum.Outside, "", true
	}
	if why := j.sheet.Unconvertible([]record.Capture{c}); why != "" {
		return gum.NotDecided, why, true
	}
	d := setup.JudgeConventions(c.Value, judgingU(c), j.Spec.Limits, j.factors)
	if j.feature.empty != nil && d.Verdict != gum.Outside {
		if why := j.feature.empty(j.sheet, c); why != "" {
			return gum.NotDecided, why, true
		}
	}
	return d.Verdict, ReasonWords(d.Reason), true
}

// Unconvertible reports whether something was read in another way than the sheet
// says, and what would convert it is not known.
func (a Assessment) Unconvertible() bool { return a.reason.code == becauseOfConvention }

// Stale reports whether all that was measured is out of date.
func (a Assessment) Stale() bool { return a.reason.code == becauseOfWork }

// TooCoarse reports whether the gauge can prove nothing inside the window.
func (a Assessment) TooCoarse() bool {
	u := a.U
	if a.Feature == record.FeatureBacklash {
		u = math.Max(a.Round.Tightest.U, a.Round.Loosest.U)
	}
	_, decidable := gum.Capability(a.Spec.Limits, u)
	return !decidable
}

// ReadOutside reports whether it is outside as read, which an unknown uncertainty
// keeps from being proven.
func (a Assessment) ReadOutside() bool { return a.Round.Why.Reason == gum.UnknownOutside }

// ProvesNothing reports whether what was measured says nothing of the axle, such
// as an air test at another pressure than the sheet's.
func (a Assessment) ProvesNothing() bool { return a.reason.code == becauseOfPressure }

// Reason is the verdict in a few words, "position 3: outside", and what is not
// measured yet; "" where there is nothing to say.
func (a Assessment) Reason() string {
	text := cmp.Or(a.reason.words, whyWords(a.Round.Why, a.Verdict, a.place, a.Round.Outside))
	if open := "not measured: " + words.Places(a.place, a.Missing); a.Measured > 0 && len(a.Missing) > 0 && text != open {
		return strings.TrimPrefix(text+"; "+open, "; ")
	}
	return text
}

// whyWords says which part of an acceptance rule decided.
func whyWords(w analysis.Why, v gum.Verdict, place string, beyond []int) string {
	at, value, limit := words.Places(place, w.Positions), units.Short(w.Value), units.Short(w.Limit)
	why, ends := ReasonWords(w.Reason), ": "+string(v)
	if v == gum.NotDecided {
		ends = ": " + why
	}
	if w.Part == analysis.PartPositions && len(w.Positions) == 0 {
		return why
	}
	return map[analysis.Part]string{
		analysis.PartNothing:    "nothing measured yet",
		analysis.PartMissing:    "not measured: " + at,
		analysis.PartAll:        "all conditions met" + ruleWords(w, place, beyond),
		analysis.PartNoWindow:   why,
		analysis.PartConvention: why,
		analysis.PartPositions:  at + ends,
		analysis.PartTightest:   "tightest " + at + " at " + value + ends,
		analysis.PartAnyInside:  at + " at " + value + ends,
		analysis.PartNoneInside: "no " + place + " inside" + ends,
		analysis.PartFloor:      at + " against the floor " + limit + ends,
		analysis.PartSpread:     "spread " + value + " against " + limit + ends,
	}[w.Part]
}

// ruleWords says by what a round is accepted whose positions need not all be
// inside, and which are not; "" where the rule asks for all of them.
func ruleWords(w analysis.Why, place string, beyond []int) string {
	if w.Rule == analysis.RuleAllInside || w.Rule == "" || len(w.Positions) == 0 {
		return ""
	}
	said := " by the rule " + w.Rule + ": "
	if w.Rule == analysis.RuleTightestInside {
		said += "tightest "
	}
	said += words.Places(place, w.Positions) + " inside"
	if len(beyond) > 0 {
		said += "; beyond the window: " + words.Places(place, beyond)
	}
	return said
}

// ReasonWords says why a value is not decided; "" for a decided one.
func ReasonWords(r gum.Reason) string {
	return map[gum.Reason]string{
		gum.NoValue:           "no value",
		gum.NoWindow:          "no window to judge by",
		gum.UnknownInside:     "as read inside, uncertainty unknown",
		gum.UnknownOutside:    "as read outside, uncertainty unknown",
		gum.OneConventionOnly: "normal or transverse backlash decides it, and which one the manual means or the plunger read is not known",
	}[r]
}

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
