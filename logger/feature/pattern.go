package feature

import (
	"fmt"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// pattern is entered on a tooth: along it, then up it.
func pattern() Feature {
	return Feature{
		positions: func(sheet.Sheet, string) []record.Position { return placesCalled("along", "up") },
		assess:    (*Assessment).contact,
		partial:   func(record.Capture) bool { return true },
		example:   "a place from -1 to +1 such as -0.3",
		Together:  true,
		Check: func(_ Feature, v float64) error {
			if !(v >= -1 && v <= 1) {
				return fmt.Errorf("%g is off the tooth: want -1 to +1", v)
			}
			return nil
		},
		ask: func(_ Setup, at At) string {
			if at.Place == 0 {
				return "Where does the contact lie along the tooth? -1 toe, 0 middle, +1 heel."
			}
			return "Where does it lie up the tooth? -1 root, 0 middle, +1 face."
		},
	}
}

// contact judges both flanks of a contact pattern at once: a stop is outside
// what can be put right, a pattern to be accepted is inside. What asks for a
// move, and one flank alone, is not decided.
func (a *Assessment) contact(s sheet.Sheet, counted, all []record.Capture, places int) {
	a.sum(s, counted, places, a.Spec, nil)
	advice, both := ContactAdvice(s, all, a.Stage)
	a.Verdict, a.reason.words = gum.NotDecided, words.Contact(advice)
	switch {
	case len(a.Missing) > 0:
		a.undecidedWhileMissing()
	case !both:
		a.reason.words = "the other flank is not entered"
	case advice.Stop:
		a.Verdict = gum.Outside
	case advice.Accept:
		a.Verdict = gum.Inside
	}
}

// ContactAdvice is what the contact pattern of a stage asks for; false until both
// flanks are entered. A used set has worn to its own print, and one that is back
// there is accepted whatever the textbook says (gear-set makers' sheets); any
// other goes by the tooth form and the pinion depth of the sheet.
func ContactAdvice(s sheet.Sheet, cs []record.Capture, stage string) (setup.PatternAdvice, bool) {
	drive, ok := PatternOf(cs, stage, record.FeaturePatternDrive)
	coast, both := PatternOf(cs, stage, record.FeaturePatternCoast)
	if !ok || !both {
		return setup.PatternAdvice{}, false
	}
	if s.GearSet.Used && stage != record.StageAsFound {
		foundDrive, drove := PatternOf(cs, record.StageAsFound, record.FeaturePatternDrive)
		foundCoast, coasted := PatternOf(cs, record.StageAsFound, record.FeaturePatternCoast)
		if drove && coasted && drive.Near(foundDrive) && coast.Near(foundCoast) {
			return setup.PatternAdvice{Accept: true, Seen: setup.SeenAsFound}, true
		}
	}
	return setup.ContactAdvice(drive, coast, s.GearSet.ToothForm, s.GearSet.PinionDepth == "free"), true
}

// PatternOf returns the contact entered for pattern-drive or pattern-coast,
// false until both its places are there.
func PatternOf(cs []record.Capture, stage, name string) (setup.Contact, bool) {
	p := Points(sheet.Sheet{}, cs, stage, name)
	if len(p) < 2 {
		return setup.Contact{}, false
	}
	return setup.Contact{Along: p[0].Value, Up: p[1].Value}, true
}
