package job

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// foundMean is the mean backlash, mm, that a used gear set was found with; NaN
// where that is no aim. It is beyond the window where it does not lie inside.
func (j Job) foundMean() (mean float64, beyond bool) {
	found := feature.Assess(j.Sheet, j.Captures, record.StageAsFound, record.FeatureBacklash)
	if g := j.Sheet.GearSet; !g.Used || g.Aim == sheet.AimWindow || found.Round.N == 0 || found.Unconvertible() {
		return math.NaN(), false
	}
	l := found.Spec.Limits
	return found.Value, found.Complete && l.Any() && !l.Contains(found.Value)
}

// aim says what the backlash is led to, and the spec to reach it by: the window,
// or one as wide round the mean as found that lies beyond it, where that is
// decided. Heavy-axle practice goes back to that, light-vehicle practice applies
// the window: common practice. The verdicts stay those of the window.
func (j Job) aim(spec analysis.RoundSpec) (analysis.RoundSpec, setup.AdviceOptions) {
	adjuster := j.Sheet.Adjuster
	o := setup.AdviceOptions{Shims: adjuster.Kind == "shims", Whole: adjuster.HalfNotches != nil && !*adjuster.HalfNotches}
	o.Box = setup.Box{Sizes: adjuster.ShimSizesMM, Near: adjuster.ShimsCrownMM, Far: adjuster.ShimsFarMM}
	for _, c := range record.Active(j.Captures) {
		if c.Feature == record.FeatureMove {
			near, far := c.Sides()
			o.Box.Near, o.Box.Far = o.Box.Near+near, o.Box.Far+far
		}
	}
	found, beyond := j.foundMean()
	aim, _ := j.chosenAim()
	o.AsFound, o.Beyond = found, beyond && aim == sheet.AimAsFound
	if o.Beyond {
		half := spec.Limits.Width() / 2
		spec.Limits.Lower, spec.Limits.Upper = found-half, found+half
	}
	return spec, o
}

// chosenAim is what a used set found beyond the window aims at: by the sheet or, where
// that does not say, by the last decision on record and its reason; "" for undecided.
// To skip the hold point decides for the window.
func (j Job) chosenAim() (aim, why string) {
	if aim = j.Sheet.GearSet.Aim; aim != "" {
		return aim, ""
	}
	for _, c := range record.Active(j.Captures) {
		to, reason, _ := strings.Cut(c.Note, ": ")
		switch {
		case c.Hold != HoldAim:
		case c.Feature == record.FeatureOverride:
			aim, why = sheet.AimWindow, c.Note
		case c.Feature == record.FeatureCheck && decided[to] != "":
			aim, why = to, reason
		}
	}
	return aim, why
}

// decided says what was decided for.
var decided = map[string]string{sheet.AimWindow: "the window", sheet.AimAsFound: "the mean as found"}

// DecideAim records what a used set found beyond the window aims at, one of
// sheet.AimAsFound and sheet.AimWindow, and why. The error is of the reason, or says
// that there is nothing to decide.
func (j Job) DecideAim(st record.Store, aim, why string, at time.Time) (record.Capture, error) {
	if _, beyond := j.foundMean(); !beyond {
		return record.Capture{}, errors.New("no aim to decide: no used set was found beyond its window all round, or aim in job.toml is the window")
	}
	if j.Sheet.GearSet.Aim != "" {
		return record.Capture{}, fmt.Errorf("aim = %q stands in job.toml, which decides", j.Sheet.GearSet.Aim)
	}
	if err := record.CheckReason(why); err != nil {
		return record.Capture{}, err
	}
	return record.AddCheck(st, j.At(), HoldAim, aim+": "+why, at)
}

// aimHold asks what a used set aims at that was found beyond the window. Nothing is
// left unmeasured by the answer.
func (j Job) aimHold() HoldPoint {
	h := HoldPoint{Name: HoldAim, Stage: record.StageAsFound, Feature: record.FeatureBacklash, Before: beforeSetting, Reason: "cleared"}
	mean, beyond := j.foundMean()
	switch aim, why := j.chosenAim(); {
	case beyond && aim == "":
		h.Blocking = true
		h.Reason = fmt.Sprintf("Decide before the backlash is set: as found it is %s on average, beyond the entered window. Go back to that (job aim %s), or set it by the window (job aim %s); a reason typed instead is for the window.",
			j.Sheet.Length(mean), sheet.AimAsFound, sheet.AimWindow)
	case why != "":
		h.Reason = "decided for " + decided[aim] + ": " + why
	}
	return h
}

// mostCapShift is the largest change of backlash, mm, that torquing the caps is
// believed to make: 0.01 to 0.03 from memory of the trade. More is another fault, or
// another place.
const mostCapShift = 0.05

// capShift is by how much torquing the caps changes the backlash, mm, with its
// standard uncertainty: as found, with the caps as they came, less at the same place
// with the caps snug. It is false where that is not measured, or not to be believed.
func (j Job) capShift() (shift, u float64, ok bool) {
	snug, found := commonPoints(feature.Points(j.Sheet, j.Captures, record.StageAsFound, record.FeatureSnug),
		feature.Points(j.Sheet, j.Captures, record.StageAsFound, record.FeatureBacklash))
	if ok = len(snug) > 0; ok {
		shift, u = found[0].Value-snug[0].Value, math.Hypot(found[0].U, snug[0].U)
	}
	read := append(record.Valid(j.Captures, record.StageAsFound, record.FeatureSnug), record.Valid(j.Captures, record.StageAsFound, record.FeatureBacklash)...)
	return shift, u, ok && math.Abs(shift) <= mostCapShift && j.Sheet.Unconvertible(read) == ""
}

// capShiftWords say what the advice allows for, and before the strip how that is
// learned; "" where it is not asked for.
func (j Job) capShiftWords(stage string) string {
	shift, u, ok := j.capShift()
	measured := len(record.Valid(j.Captures, record.StageAsFound, record.FeatureSnug)) > 0
	by := words.Given(shift > 0, "+") + j.Sheet.Length(shift, gum.Coverage*u)
	switch {
	case stage == record.StageAsFound && !measured && j.specified(stage, record.FeatureCapBolts) && !j.changedSinceFound():
		return "Before the strip, slacken the caps to snug and measure position 1 once more (" + record.Title(record.FeatureSnug) + "): then set-up can allow for what torquing them does."
	case stage != record.StageSetUp && stage != record.StageAsFound || !measured:
		return ""
	case !ok:
		return fmt.Sprintf("Torquing the caps seems to change the backlash by %s, which is not believed: measure it as found and with the caps snug at the same place. Not allowed for.", by)
	}
	return fmt.Sprintf("Torquing the caps changes the backlash by %s, as measured before the strip: set-up aims so much beside.", by)
}
