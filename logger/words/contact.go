package words

import (
	"fmt"

	"crownlog/analysis/setup"
)

// Contact says what a contact pattern asks for.
func Contact(a setup.PatternAdvice) string {
	return sentences.Contacts[a.Seen] + Given(a.Odd, " Along the tooth the flanks lie the other way than this tooth form should: check the form first.")
}

// Following says whether the backlash goes up and down with the back face.
func Following(f setup.Following, length Length) string {
	cause := "look at the tooth spacing and the pinion."
	switch {
	case f.Follows && f.Against:
		cause = "high where the face reads low, as it should be only if that indicator counts down when its plunger is pushed in; then the gear's seat makes it, else look at the tooth spacing and the pinion."
	case f.Follows:
		cause = "the gear's seat makes it, not the teeth, if that indicator counts up when its plunger is pushed in."
	}
	return fmt.Sprintf("The back face explains %.0f %% of the backlash's variation (once a turn %s, by the face %s): ", 100*f.Explained, length(f.Swing), length(f.Expected)) + cause
}
