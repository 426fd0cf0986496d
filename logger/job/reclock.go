package job

import (
	"fmt"
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// adviseReclock finds the bolt hole in which the crown wheel would run truest,
// from the bare flange and the back face, and from the sheet's crown wheel
// bolts, taken as evenly spaced. Both faces must have been read at positions
// counted from the same mark and from the same side. It is false where one of
// the once-a-turn parts or the number of bolts is not known.
func adviseReclock(s sheet.Sheet, flange, face runout.Result) (setup.Reclocking, bool) {
	bolts, ok := s.BoltList(record.FeatureWheelBolts)
	if !ok || flange.H1 == nil || face.H1 == nil {
		return setup.Reclocking{}, false
	}
	r, err := setup.Reclock(harmonics(flange), harmonics(face), bolts.Count)
	return r, err == nil
}

// harmonics are those of a run-out that are known, once around first.
func harmonics(r runout.Result) []analysis.Harmonic {
	if r.H2 == nil {
		return []analysis.Harmonic{*r.H1}
	}
	return []analysis.Harmonic{*r.H1, *r.H2}
}

// faceRemedy says what to do about a back face that was measured all round
// and is not proven inside; nothing as found, for the wheel comes off anyway.
func faceRemedy(s sheet.Sheet, cs []record.Capture, stage string) string {
	a := feature.Assess(s, cs, stage, record.FeatureRunoutBackFace)
	if stage == record.StageAsFound || !a.Complete || a.Runout == nil || a.Verdict == gum.Inside || a.Verdict == gum.NotDecided {
		return ""
	}
	face, limits := *a.Runout, a.Spec.Limits
	if notTilt(face, limits) {
		return fmt.Sprintf("%.3f mm of the run-out does not come once a turn and cannot be cured by turning the wheel: clean both faces, re-seat it and check that its bolts are tightened evenly.", face.FIMIfReseated)
	}
	flange, ok := runoutOfBuild(s, cs, stage, record.FeatureRunoutFlange)
	if !ok {
		return "Clean and stone both faces, re-seat the wheel and measure again; if the run-out stays, take the wheel off and measure the bare flange from the same mark."
	}
	if flange.Verdict == gum.Outside {
		return fmt.Sprintf("The bare flange itself runs out %.3f mm, beyond %.3f: look at the bearings and the case, not at the crown wheel.", flange.Value, flange.Spec.Limits.Upper)
	}
	turn, ok := adviseReclock(s, *flange.Runout, face)
	switch {
	case !ok:
		return "Turn the crown wheel on its flange and measure again; the best bolt hole can be told once flange and back face are measured by positions and the sheet lists the bolts."
	case turn.After > limits.Upper:
		return fmt.Sprintf("The best bolt hole would still leave %.3f mm: the gear itself runs out, replace it with its pinion.", turn.After)
	case turn.Gain <= gum.Coverage*face.FIMU:
		return "No bolt hole is better than this one: clean and stone both faces and re-seat the wheel; if the run-out stays, the gear itself runs out."
	}
	return reclockText(turn, s)
}

// notTilt reports whether what is left without the once-a-turn part decides
// the run-out: it is beyond the limit by itself, or twice a turn outweighs
// once.
func notTilt(face runout.Result, limits gum.Limits) bool {
	if face.H1 == nil {
		return false
	}
	return face.FIMIfReseated > limits.Upper || face.H2 != nil && face.H2.Amplitude > face.H1.Amplitude
}

// reclockText goes the shorter way round.
func reclockText(turn setup.Reclocking, s sheet.Sheet) string {
	bolts, _ := s.BoltList(record.FeatureWheelBolts)
	holes, way := turn.Holes, "from position 1 towards 2"
	if 2*holes > bolts.Count {
		holes, way = bolts.Count-holes, "from position 2 towards 1"
	}
	angle := math.Min(turn.AngleDeg, 360-turn.AngleDeg)
	return fmt.Sprintf("Turn the crown wheel by %s on its flange (%.0f°, %s): the run-out should fall from %.3f to %.3f mm, if dowels and holes allow it and both faces were read from the same side and mark.",
		units.Counted(holes, "bolt hole", "bolt holes"), angle, way, turn.Before, turn.After)
}
