package job

import (
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/analysis/torque"
	"crownlog/analysis/units"
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
		if a, err := AdviseMove(s, cs); err == nil {
			o.Move, o.Advice = &a, strings.TrimSpace(words.Advice(a, s.Length)+" "+shift)
			o.Next = o.Advice
			if a.Needed {
				o.Next = words.Hands(a)
			}
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
// last; "" without one. What was as found is another build than all that follows.
func sameBuild(cs []record.Capture, stage, name string) string {
	if len(record.ActiveOf(cs, stage, name)) > 0 {
		return stage
	}
	return latestStage(cs, func(c record.Capture) bool {
		return c.Feature == name && (c.Stage == record.StageAsFound) == (stage == record.StageAsFound)
	})
}

// runoutOfBuild is the assessment of a run-out at sameBuild, false where it could
// not be told.
func runoutOfBuild(s sheet.Sheet, cs []record.Capture, stage, name string) (feature.Assessment, bool) {
	a := feature.Assess(s, cs, sameBuild(cs, stage, name), name)
	return a, a.Runout != nil && !a.Runout.Refused
}

// carrierShare takes the total preload apart into the pinion's and the
// carrier's bearings.
func carrierShare(s sheet.Sheet, cs []record.Capture, stage string) string {
	at := sameBuild(cs, stage, record.FeaturePreloadPinion)
	totals, pinions := record.Valid(cs, stage, record.FeaturePreloadTotal), record.Valid(cs, at, record.FeaturePreloadPinion)
	if len(totals) == 0 || len(pinions) == 0 {
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
	share := fmt.Sprintf("%.2f", carrier) + words.Given(u > 0, fmt.Sprintf(" ± %.2f", u))
	return fmt.Sprintf("The pinion's bearings take %.2f N·m of it, the carrier's %s N·m at the crown wheel (%d:%d teeth), mesh drag included.",
		pinion.Value, share, g.WheelTeeth, g.PinionTeeth)
}

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
		swing, expected := round.H1.Movement(), gain*face.Runout.H1.Movement()
		text := fmt.Sprintf("The backlash swings %s once a turn; the back face can account for about %s of it", s.Length(swing), s.Length(math.Min(expected, swing)))
		if expected < swing/2 {
			return text + ": look at the tooth spacing and the pinion for the rest."
		}
		return text + ". Whether the two go together is not known without face_to_mesh_deg in job.toml."
	}
	f, err := setup.FollowsRunout(feature.Points(s, cs, stage, record.FeatureBacklash), *face.Runout.H1, gain, *offset)
	if err != nil {
		return ""
	}
	return words.Following(f, s.Length)
}

// harmonics are those of a run-out that are known, once around first.
func harmonics(r runout.Result) (known []analysis.Harmonic) {
	for _, h := range []*analysis.Harmonic{r.H1, r.H2} {
		if h != nil {
			known = append(known, *h)
		}
	}
	return known
}

// faceRemedy says what to do about a back face that was measured all round
// and is not proven inside; nothing as found, for the wheel comes off anyway.
func faceRemedy(s sheet.Sheet, cs []record.Capture, stage string) string {
	a := feature.Assess(s, cs, stage, record.FeatureRunoutBackFace)
	if stage == record.StageAsFound || !a.Complete || a.Runout == nil || a.Verdict == gum.Inside || a.Verdict == gum.NotDecided {
		return ""
	}
	face, limits := *a.Runout, a.Spec.Limits
	if face.H1 != nil && (face.FIMIfReseated > limits.Upper || face.H2 != nil && face.H2.Amplitude > face.H1.Amplitude) { // no tilt
		return fmt.Sprintf("%s of the run-out does not come once a turn and cannot be cured by turning the wheel: clean both faces, re-seat it and check that its bolts are tightened evenly.", s.Length(face.FIMIfReseated))
	}
	flange, ok := runoutOfBuild(s, cs, stage, record.FeatureRunoutFlange)
	if !ok {
		return "Clean and stone both faces, re-seat the wheel and measure again; if the run-out stays, take the wheel off and measure the bare flange from the same mark."
	}
	if flange.Verdict == gum.Outside {
		return fmt.Sprintf("The bare flange itself runs out %s, beyond %s: look at the bearings and the case, not at the crown wheel.", s.Length(flange.Value), s.Length(flange.Spec.Limits.Upper))
	}
	// The bolts are taken as evenly spaced, and both faces as read at positions
	// counted from the same mark and from the same side.
	bolts, _ := s.BoltList(record.FeatureWheelBolts)
	turn, err := setup.Reclock(harmonics(*flange.Runout), harmonics(face), bolts.Count)
	switch {
	case err != nil, flange.Runout.H1 == nil, face.H1 == nil:
		return "Turn the crown wheel on its flange and measure again; the best bolt hole can be told once flange and back face are measured by positions and job.toml lists the bolts."
	case turn.After > limits.Upper:
		return fmt.Sprintf("The best bolt hole would still leave %s: the gear itself runs out, replace it with its pinion.", s.Length(turn.After))
	case turn.Gain <= gum.Coverage*face.FIMU:
		return "No bolt hole is better than this one: clean and stone both faces and re-seat the wheel; if the run-out stays, the gear itself runs out."
	}
	holes, way := turn.Holes, "from position 1 towards 2"
	if 2*holes > bolts.Count { // the other way is shorter
		holes, way = bolts.Count-holes, "from position 2 towards 1"
	}
	angle := math.Min(turn.AngleDeg, 360-turn.AngleDeg)
	return fmt.Sprintf("Turn the crown wheel by %s on its flange (%.0f°, %s): the run-out should fall from %s to %s, if dowels and holes allow it and both faces were read from the same side and mark.",
		units.Counted(holes, "bolt hole", "bolt holes"), angle, way, s.Length(turn.Before), s.Length(turn.After))
}
