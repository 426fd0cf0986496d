package logger

import (
	"crownlog/analysis/setup"
)

// ContactAdvice is what the contact pattern of a stage asks for, by the tooth
// form and the pinion depth of the sheet; false until both flanks are entered.
func ContactAdvice(s Sheet, cs []Capture, stage string) (setup.PatternAdvice, bool) {
	drive, ok := PatternOf(cs, stage, FeaturePatternDrive)
	coast, both := PatternOf(cs, stage, FeaturePatternCoast)
	if !ok || !both {
		return setup.PatternAdvice{}, false
	}
	return setup.ContactAdvice(drive, coast, s.GearSet.ToothForm, s.GearSet.PinionDepth == "free"), true
}

// contactOpen says why the contact pattern forbids closing up; "" that it does
// not. The latest stage with both flanks counts.
func (j Job) contactOpen() string {
	why := ""
	for _, stage := range j.Sheet.StageList() {
		if a, ok := ContactAdvice(j.Sheet, j.Captures, stage); ok {
			if why = ""; a.Stop {
				why = "Do not close up yet: the contact pattern, " + stage + ", says stop. " + a.Text
			}
		}
	}
	return why
}

// otherFlank is the pattern that belongs to the one named; "" for another
// feature.
func otherFlank(name string) string {
	switch name {
	case FeaturePatternDrive:
		return FeaturePatternCoast
	case FeaturePatternCoast:
		return FeaturePatternDrive
	}
	return ""
}
