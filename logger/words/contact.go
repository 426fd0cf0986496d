package words

import (
	"fmt"

	"crownlog/analysis/setup"
)

const (
	askForm  = ", which is a depth matter. Find out the tooth form before moving the pinion: taller at the heel is tapered, equal height is uniform."
	noDepth  = " Backlash cannot correct depth, and by job.toml the pinion stays: have whoever may move it check its shim, then write pinion_depth = \"free\" in job.toml."
	byShim   = " by 0.05 to 0.10 mm (0.002 to 0.004 in) of shim, then set the backlash again."
	noLength = ". No move is advised: only on tapered teeth, taller at the heel, is it known that backlash brings it back along the tooth. Keep the backlash in its window, and check run-out, preload and the tooth form."
	inWindow = " the pinion, within the backlash window."
)

var contacts = map[setup.Seen]string{
	setup.SeenNothing:    "Mark both flanks and enter where the contact lies.",
	setup.SeenCentral:    "Central on both flanks and clear of the edges: accept.",
	setup.SeenToe:        "Both flanks meet at the toe: move the crown wheel away from" + inWindow,
	setup.SeenHeel:       "Both flanks meet at the heel: move the crown wheel towards" + inWindow,
	setup.SeenToeCentre:  "Between the toe and the middle on both flanks, clear of the edges: accept, load moves it towards the heel.",
	setup.SeenToeForm:    "Both flanks meet at the toe" + noLength,
	setup.SeenHeelForm:   "Both flanks meet at the heel" + noLength,
	setup.SeenAsFound:    "Where it was found on both flanks: accept, a used set keeps to its own print.",
	setup.SeenFace:       "Both flanks meet at the face: move the pinion in" + byShim,
	setup.SeenRoot:       "Both flanks meet at the root: move the pinion out" + byShim,
	setup.SeenFaceLocked: "Stop: both flanks meet at the face." + noDepth,
	setup.SeenRootLocked: "Stop: both flanks meet at the root." + noDepth,
	setup.SeenFaceForm:   "Both flanks meet at the face" + askForm,
	setup.SeenRootForm:   "Both flanks meet at the root" + askForm,
	setup.SeenOpposite:   "One flank meets at the face and the other at the root: no single move does both. Check preload, run-out and that the gears are a set, then mark again.",
	setup.SeenOffEdge:    "Stop: one flank runs off the edge." + noDepth,
	setup.SeenOneDepth:   "One flank shows depth wrong and the other does not: never move the pinion on one flank. Mark again under load and read both.",
	setup.SeenOffEnd:     "The contact runs off the end of the tooth on one flank: not acceptable. Check run-out and preload, then mark again.",
	setup.SeenUniform:    "Toe on one flank and heel on the other at the right depth: usual for uniform-depth teeth. Accept while it is clear of the edges.",
	setup.SeenApart:      "Toe on one flank and heel on the other at the right depth: accept while it is clear of the edges; depth decides, and it is right.",
	setup.SeenOneLength:  "Depth is right and only one flank is off centre along the tooth: accept while it is clear of the edges.",
}

// Contact says what a contact pattern asks for.
func Contact(a setup.PatternAdvice) string {
	return contacts[a.Seen] + Given(a.Odd, " Along the tooth the flanks lie the other way than this tooth form should: check the form first.")
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
