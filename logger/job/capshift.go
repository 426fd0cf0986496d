package job

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// mostCapShift is the largest change of backlash, mm, that torquing the caps is
// believed to make: 0.01 to 0.03 from memory of the trade. More is another fault, or
// another place.
const mostCapShift = 0.05

// capShift is by how much torquing the caps changes the backlash, mm, with its
// standard uncertainty: as found, with the caps as they came, less at the same place
// with the caps snug. It is false where that is not measured, or not to be believed.
func (j Job) capShift() (shift, u float64, ok bool) {
	for _, snug := range feature.Points(j.Sheet, j.Captures, record.StageAsFound, record.FeatureSnug) {
		for _, found := range feature.Points(j.Sheet, j.Captures, record.StageAsFound, record.FeatureBacklash) {
			if found.Position == snug.Position {
				shift, u, ok = found.Value-snug.Value, math.Hypot(found.U, snug.U), true
			}
		}
	}
	read := append(record.Valid(j.Captures, record.StageAsFound, record.FeatureSnug), record.Valid(j.Captures, record.StageAsFound, record.FeatureBacklash)...)
	return shift, u, ok && math.Abs(shift) <= mostCapShift && j.Sheet.Unconvertible(read) == ""
}

// beforeCaps is a spec, and what is aimed at in it, as they are to be reached with
// the caps snug: less what torquing them does.
func (j Job) beforeCaps(spec analysis.RoundSpec, aim float64) (analysis.RoundSpec, float64) {
	shift, _, ok := j.capShift()
	if !ok {
		return spec, aim
	}
	spec.Limits.Lower -= shift
	spec.Limits.Upper -= shift
	spec.Floor -= shift
	return spec, aim - shift
}

// capShiftWords say what the advice allows for, and before the strip how that is
// learned; "" where it is not asked for.
func (j Job) capShiftWords(stage string) string {
	shift, u, ok := j.capShift()
	measured := len(record.Valid(j.Captures, record.StageAsFound, record.FeatureSnug)) > 0
	doubt := ""
	if u > 0 {
		doubt = fmt.Sprintf(" ± %.3f", gum.Coverage*u)
	}
	switch {
	case stage == record.StageAsFound && !measured && j.specified(stage, record.FeatureCapBolts) && !j.changedSinceFound():
		return "Before the strip, slacken the caps to snug and measure position 1 once more (" + record.Title(record.FeatureSnug) + "): then set-up can allow for what torquing them does."
	case stage != record.StageSetUp && stage != record.StageAsFound || !measured:
		return ""
	case !ok:
		return fmt.Sprintf("Torquing the caps seems to change the backlash by %+.3f mm, which is not believed: measure it as found and with the caps snug at the same place. Not allowed for.", shift)
	}
	return fmt.Sprintf("Torquing the caps changes the backlash by %+.3f%s mm, as measured before the strip: set-up aims so much beside.", shift, doubt)
}
