package logger

import (
	"fmt"
	"maps"
	"slices"
)

// CheckSheet is Sheet.Check with what a list of stages of one's own does to the
// steps of the job in front.
func CheckSheet(s Sheet) []Finding { return append(stageFindings(s), s.Check()...) }

// stageFindings says what a list of stages of one's own does to the hold points.
func stageFindings(s Sheet) []Finding {
	var found []Finding
	add := func(severity Severity, format string, args ...any) {
		found = append(found, Finding{Severity: severity, Where: "stages", Text: fmt.Sprintf(format, args...)})
	}
	j := Job{Sheet: s}
	for _, name := range s.StageList() {
		if _, usual := stageSteps[name]; !usual {
			add(Advice, "%q is a stage of your own: only the backlash is asked for in it%s", name, didYouMean(name))
		}
	}
	lost := func(hold string) {
		add(Warning, "the hold point %s falls away, because its stage is not listed", hold)
	}
	if !j.hasStage(StageAsFound) {
		lost(HoldAsFound)
	}
	if _, ok := s.printed(FeatureRunoutBackFace); ok && !j.hasStage(StageBench) {
		lost(HoldFace)
	}
	if j.lastStageOf(StageFinal, StageCaps) == "" {
		lost(HoldRecheck)
	}
	return found
}

// didYouMean offers a usual stage for a mistyped one.
func didYouMean(stage string) string {
	near := nearest(stage, slices.Sorted(maps.Keys(stageSteps)))
	if near == "" {
		return ""
	}
	return "; did you mean " + near + "?"
}
