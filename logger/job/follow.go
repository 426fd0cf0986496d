package job

import (
	"fmt"
	"math"

	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// backlashAndFace says whether the backlash goes up and down with the back
// face. Without the angle from the face's indicator to the mesh only the sizes
// can be compared. A backlash that varies no more than its uncertainty says
// nothing.
func backlashAndFace(s sheet.Sheet, cs []record.Capture, stage string) string {
	a := feature.Assess(s, cs, stage, record.FeatureBacklash)
	if a.Unconvertible() {
		return "" // the face's share is counted as the sheet reads backlash now
	}
	round := a.Round
	u := gum.Coverage * math.Hypot(round.Tightest.U, round.Loosest.U)
	if !a.Complete || !(round.Spread > u) {
		return ""
	}
	face, ok := runoutOfBuild(s, cs, stage, record.FeatureRunoutBackFace)
	if !ok || face.Runout.H1 == nil {
		return ""
	}
	gain, err := s.AxialGain()
	if err != nil {
		gain = setup.UsualAxialGain
	}
	offset := s.Plunger.FaceToMeshDeg
	if offset == nil {
		return facesSize(round.H1.Movement(), gain*face.Runout.H1.Movement())
	}
	f, err := setup.FollowsRunout(feature.Points(s, cs, stage, record.FeatureBacklash), *face.Runout.H1, gain, *offset)
	if err != nil {
		return ""
	}
	return words.Following(f)
}

// facesSize compares the backlash's once-a-turn swing with what the back face
// could make of it, both in mm.
func facesSize(swing, expected float64) string {
	text := fmt.Sprintf("The backlash swings %.3f mm once a turn; the back face can account for about %.3f of it", swing, math.Min(expected, swing))
	if expected < swing/2 {
		return text + ": look at the tooth spacing and the pinion for the rest."
	}
	return text + ". Whether the two go together is not known without face_to_mesh_deg in the sheet."
}
