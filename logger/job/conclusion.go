package job

import (
	"fmt"
	"math"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/analysis/torque"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// An Outcome is what a finished round means for the job.
type Outcome struct {
	Conclusion string        // together with the job's other rounds
	Move       *setup.Advice // of the adjusters; nil: none
	Advice     string
	Next       string // what to do now; "": nothing that follows from the round
}

// OutcomeOf works out what a round means, and what to do with the adjusters
// after one of backlash.
func OutcomeOf(s sheet.Sheet, cs []record.Capture, stage, name string) Outcome {
	o := Outcome{Conclusion: Conclusion(s, cs, stage, name)}
	shift := Job{Sheet: s, Captures: cs}.capShiftWords(stage)
	switch {
	case name == record.FeatureRunoutBackFace:
		o.Advice, o.Next = o.Conclusion, o.Conclusion
	case !record.IsBacklash(name):
	case stage == record.StageAsFound: // what is as found is not moved
		o.Advice, o.Next = shift, shift
	default:
		a, err := AdviseMove(s, cs)
		if err != nil {
			break
		}
		o.Move, o.Advice = &a, strings.TrimSpace(words.Advice(a)+" "+shift)
		o.Next = o.Advice
		if a.Needed {
			o.Next = words.Hands(a)
		}
	}
	return o
}

// Conclusion says what a round means together with the other rounds of the
// job, in a sentence or two: what to do about a back face that is not proven
// inside, whether the backlash follows the back face, what the carrier's
// bearings take of the total preload, and what both flanks of a contact pattern
// ask for. It is "" where there is nothing to say.
func Conclusion(s sheet.Sheet, cs []record.Capture, stage, name string) string {
	switch name {
	case record.FeatureRunoutBackFace:
		return faceRemedy(s, cs, stage)
	case record.FeatureBacklash:
		return backlashAndFace(s, cs, stage)
	case record.FeaturePreloadTotal:
		return carrierShare(s, cs, stage)
	case record.FeaturePatternDrive, record.FeaturePatternCoast:
		a, _ := feature.ContactAdvice(s, cs, stage)
		return words.Contact(a)
	}
	return ""
}

// sameBuild finds the stage whose round of a feature belongs to the same build
// of the axle as the given stage: that stage itself, else the one measured
// last. What was as found is another build than all that follows.
func sameBuild(cs []record.Capture, stage, name string) (string, bool) {
	if len(record.ActiveOf(cs, stage, name)) > 0 {
		return stage, true
	}
	return latestStage(cs, func(c record.Capture) bool {
		return c.Feature == name && (c.Stage == record.StageAsFound) == (stage == record.StageAsFound)
	})
}

// runoutOfBuild is the assessment of a run-out at sameBuild, false where it could
// not be told.
func runoutOfBuild(s sheet.Sheet, cs []record.Capture, stage, name string) (feature.Assessment, bool) {
	at, ok := sameBuild(cs, stage, name)
	if !ok {
		return feature.Assessment{}, false
	}
	a := feature.Assess(s, cs, at, name)
	return a, a.Runout != nil && !a.Runout.Refused
}

// carrierShare takes the total preload apart into the pinion's and the
// carrier's bearings.
func carrierShare(s sheet.Sheet, cs []record.Capture, stage string) string {
	at, ok := sameBuild(cs, stage, record.FeaturePreloadPinion)
	totals, pinions := record.Valid(cs, stage, record.FeaturePreloadTotal), record.Valid(cs, at, record.FeaturePreloadPinion)
	if !ok || len(totals) == 0 || len(pinions) == 0 {
		return ""
	}
	total, pinion := totals[len(totals)-1], pinions[len(pinions)-1]
	g := s.GearSet
	carrier := torque.CarrierFromTotal(total.Value, pinion.Value, g.PinionTeeth, g.WheelTeeth)
	switch {
	case math.IsNaN(carrier):
		return ""
	case carrier < 0:
		return fmt.Sprintf("The total preload, %.2f N·m, is less than the pinion's alone, %.2f: measure both again.", total.Value, pinion.Value)
	}
	u := gum.Coverage * torque.CarrierFromTotal(math.Hypot(total.U, pinion.U), 0, g.PinionTeeth, g.WheelTeeth)
	share := fmt.Sprintf("%.2f", carrier)
	if u > 0 {
		share += fmt.Sprintf(" ± %.2f", u)
	}
	return fmt.Sprintf("The pinion's bearings take %.2f N·m of it, the carrier's %s N·m at the crown wheel (%d:%d teeth), mesh drag included.",
		pinion.Value, share, g.WheelTeeth, g.PinionTeeth)
}
