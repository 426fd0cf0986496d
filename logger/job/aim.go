package job

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
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
// or one as wide round the mean as found that lies beyond it, where the sheet
// says so. Heavy-axle practice goes back to that, light-vehicle practice applies
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
	o.AsFound, o.Beyond = found, beyond && j.Sheet.GearSet.Aim == sheet.AimAsFound
	if o.Beyond {
		half := spec.Limits.Width() / 2
		spec.Limits.Lower, spec.Limits.Upper = found-half, found+half
	}
	return spec, o
}

// aimHold asks what a used set aims at that was found beyond the window. To skip
// it decides for the window; nothing is left unmeasured by that.
func (j Job) aimHold() HoldPoint {
	h := HoldPoint{Name: HoldAim, Stage: record.StageAsFound, Feature: record.FeatureBacklash, Before: beforeSetting}
	open := ""
	if mean, beyond := j.foundMean(); beyond && j.Sheet.GearSet.Aim == "" {
		open = fmt.Sprintf("Decide before the backlash is set: as found it is %s on average, beyond the entered window. Write aim = %q or aim = %q below [gear_set] in job.toml; a reason typed instead is for the window.",
			feature.Amount(h.Feature, mean), sheet.AimAsFound, sheet.AimWindow)
	}
	if h = j.skipped(h, open, false, 0); h.Skipped != "" {
		h.Reason, h.Skipped = "decided for the window: "+h.Skipped, ""
	}
	return h
}
