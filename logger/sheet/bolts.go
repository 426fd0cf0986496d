package sheet

import (
	"cmp"
	"math"
	"slices"

	"crownlog/analysis/gum"
	"crownlog/analysis/torque"
	"crownlog/logger/record"
)

// BoltList finds the bolts of a feature.
func (s Sheet) BoltList(name string) (BoltList, bool) {
	return first(s.Bolts, func(b BoltList) bool { return b.Feature == name })
}

// TargetNm is the torque at the bolt in N·m.
func (b BoltList) TargetNm() float64 {
	v, err := record.FeatureOf(b.Feature).Convert(b.Target, b.Unit)
	if err != nil {
		return b.Target
	}
	return v
}

// Setting is the torque in N·m the wrench must show for target N·m at the
// bolt, with the adapter the sheet names.
func (b BoltList) Setting(target float64) float64 {
	if b.AdapterLength <= 0 {
		return target
	}
	return torque.AdapterSetting(target, b.WrenchLength, b.AdapterLength, b.AdapterAngle)
}

// Tolerance is the allowed deviation from the target as a fraction. Where the
// sheet names none it is 10 %: common practice, no source; a manual that prints
// one figure takes a 4 % wrench for granted.
func (b BoltList) Tolerance() float64 { return cmp.Or(b.TolerancePct, 10) / 100 }

// Passes are the fractions of the target, in order.
func (b BoltList) Passes() []float64 {
	pct := b.PassesPct
	if len(pct) == 0 {
		pct = []int{30, 60, 100}
	}
	passes := make([]float64, len(pct))
	for i, p := range pct {
		passes[i] = float64(p) / 100
	}
	return passes
}

// Order is the sequence of the bolts in one pass, 1-based.
func (b BoltList) Order() []int {
	if len(b.Sequence) > 0 {
		return slices.Clone(b.Sequence)
	}
	return torque.Sequence(b.Count)
}

// OpenMinutes is how long the locker stays wet.
func (b BoltList) OpenMinutes() float64 { return cmp.Or(b.OpenTimeMin, 10) }

// PullUncertainty is that of a pull of value N·m: of a wrench within its
// permissible error, and of its last digit, resolution. Where the sheet has no
// error it is what ISO 6789-1 permits a wrench that reaches the target;
// rectangular.
func (b BoltList) PullUncertainty(value, resolution float64) float64 {
	pct := cmp.Or(b.WrenchMPEPct, torque.ToolLimit(b.TargetNm()))
	return math.Hypot(gum.Rectangular(value*pct/100), gum.Resolution(resolution))
}
