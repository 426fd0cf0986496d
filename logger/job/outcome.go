package job

import (
	"slices"

	"crownlog/analysis/setup"
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
	switch {
	case name == record.FeatureRunoutBackFace:
		o.Advice, o.Next = o.Conclusion, o.Conclusion
	case name != record.FeatureBacklash:
	case stage == record.StageAsFound && slices.Contains(s.StageList(), record.StageSetUp):
		// the adjusters are moved once the new centre is in
	default:
		a, err := AdviseMove(s, cs)
		if err != nil {
			break
		}
		o.Move, o.Advice = &a, words.Advice(a)
		o.Next = o.Advice
		if a.Needed {
			o.Next = words.Hands(a)
		}
	}
	return o
}
