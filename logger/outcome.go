package logger

import (
	"slices"

	"crownlog/analysis/setup"
)

// An outcome is what a finished round means for the job.
type outcome struct {
	conclusion string        // together with the job's other rounds
	move       *setup.Advice // of the adjusters; nil: none
	advice     string
	next       string // what to do now; "": nothing that follows from the round
}

// outcomeOf works out what a round means, and what to do with the adjusters
// after one of backlash.
func outcomeOf(s Sheet, cs []Capture, stage, name string) outcome {
	o := outcome{conclusion: Conclusion(s, cs, stage, name)}
	switch {
	case name == FeatureRunoutBackFace:
		o.advice, o.next = o.conclusion, o.conclusion
	case name != FeatureBacklash:
	case stage == StageAsFound && slices.Contains(s.StageList(), StageSetUp):
		// the adjusters are moved once the new centre is in
	default:
		a, err := AdviseMove(s, cs)
		if err != nil {
			break
		}
		o.move, o.advice, o.next = &a, a.Text, a.Text
		if a.Needed {
			o.next = a.Hands
		}
	}
	return o
}
