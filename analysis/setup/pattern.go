package setup

import (
	"math"

	"crownlog/analysis/internal/stat"
)

// A Contact is where the marking compound shows the teeth meeting on one flank.
type Contact struct {
	Along float64 // -1 toe, 0 middle, +1 heel
	Up    float64 // -1 root, 0 middle, +1 face
}

// Tooth forms, by how the tooth height runs from toe to heel.
const (
	FormTapered = "tapered" // taller at the heel: face-milled
	FormUniform = "uniform" // equal: face-hobbed
	FormUnknown = "unknown"
)

// PatternAdvice is what a contact pattern asks for.
type PatternAdvice struct {
	Accept     bool
	Stop       bool   // nothing that may be moved can put it right
	CrownWheel int    // +1 towards the pinion (less backlash), -1 away, 0 leave
	Pinion     int    // +1 towards the crown wheel's axis (in), -1 out, 0 leave
	Text       string // one or two sentences
}

const (
	patternMiddle = 0.25 // within this of the middle counts as central
	patternEdge   = 0.85 // beyond this the contact runs off the flank
)

// ContactAdvice reads the contact on the drive and coast flanks. form is one of
// the tooth forms; with FormUnknown no pinion move is ever advised. pinionFree
// says whether the pinion's depth may be changed: when it may not, backlash is
// the only thing to move and it shifts the contact between heel and toe only,
// so a face or root pattern is a stop.
//
// Depth is read first, since it alone fixes the pinion, and never from one
// flank. Sources: gear-set makers' setting sheets and heavy-axle handbooks
// (common practice); the uniform-depth rows rest on one sheet.
func ContactAdvice(drive, coast Contact, form string, pinionFree bool) PatternAdvice {
	if !stat.Finite(drive.Along) || !stat.Finite(drive.Up) || !stat.Finite(coast.Along) || !stat.Finite(coast.Up) {
		return PatternAdvice{Text: "Mark both flanks and enter where the contact lies."}
	}
	depthDrive, depthCoast := zone(drive.Up), zone(coast.Up)
	switch {
	case depthDrive == 0 && depthCoast == 0:
		return lengthAdvice(drive, coast, form)
	case depthDrive == depthCoast:
		return depthAdvice(depthDrive, drive, coast, form, pinionFree)
	case depthDrive == -depthCoast:
		return PatternAdvice{Stop: !pinionFree, Text: "One flank meets at the face and the other at the root: no single move does both. Check preload, run-out and that the gears are a set, then mark again."}
	}
	if off := edge(drive) || edge(coast); off && !pinionFree {
		return PatternAdvice{Stop: true, Text: "Stop: one flank runs off the edge, and backlash cannot correct depth."}
	}
	return PatternAdvice{Text: "One flank shows depth wrong and the other does not: never move the pinion on one flank. Mark again under load and read both."}
}

// Zones says on which side of the middle the contact lies: along the tooth -1
// towards the toe, +1 towards the heel; up it -1 towards the root, +1 towards the
// face; 0 central.
func (c Contact) Zones() (along, up int) { return zone(c.Along), zone(c.Up) }

func zone(v float64) int {
	switch {
	case v > patternMiddle:
		return 1
	case v < -patternMiddle:
		return -1
	}
	return 0
}

func edge(c Contact) bool {
	return math.Abs(c.Along) > patternEdge || math.Abs(c.Up) > patternEdge
}

// depthAdvice is for both flanks at the face (+1) or both at the root (-1).
func depthAdvice(depth int, drive, coast Contact, form string, pinionFree bool) PatternAdvice {
	where, way, move := "face", "in", 1
	if depth < 0 {
		where, way, move = "root", "out", -1
	}
	switch {
	case !pinionFree:
		return PatternAdvice{Stop: true, Text: "Stop: both flanks meet at the " + where + ". Backlash cannot correct depth, and the pinion is not being moved."}
	case form != FormTapered && form != FormUniform:
		return PatternAdvice{Text: "Both flanks meet at the " + where + ", which is a depth matter. Find out the tooth form before moving the pinion: taller at the heel is tapered, equal height is uniform."}
	}
	a := PatternAdvice{Pinion: move, Text: "Both flanks meet at the " + where + ": move the pinion " + way + " by 0.05 to 0.10 mm of shim, then set the backlash again."}
	// The same pinion move shifts the flanks apart along the tooth. A contact
	// that is apart the other way was not made by depth alone.
	apart := zone(drive.Along) - zone(coast.Along)
	expect := move
	if form == FormUniform {
		expect = -move
	}
	if apart != 0 && apart*expect < 0 {
		a.Text += " Along the tooth the flanks lie the other way than this tooth form should: check the form first."
	}
	return a
}

// lengthAdvice is for contact at the right depth on both flanks.
func lengthAdvice(drive, coast Contact, form string) PatternAdvice {
	a, b := zone(drive.Along), zone(coast.Along)
	runsOff := edge(drive) || edge(coast)
	switch {
	case a == 0 && b == 0:
		return PatternAdvice{Accept: true, Text: "Central on both flanks and clear of the edges: accept."}
	case a < 0 && b < 0:
		return PatternAdvice{CrownWheel: -1, Text: "Both flanks meet at the toe: move the crown wheel away from the pinion, within the backlash window."}
	case a > 0 && b > 0:
		return PatternAdvice{CrownWheel: 1, Text: "Both flanks meet at the heel: move the crown wheel towards the pinion, within the backlash window."}
	case runsOff:
		return PatternAdvice{Stop: true, Text: "The contact runs off the end of the tooth on one flank: not acceptable. Check run-out and preload, then mark again."}
	case a*b < 0 && form == FormUniform:
		return PatternAdvice{Accept: true, Text: "Toe on one flank and heel on the other at the right depth: usual for uniform-depth teeth. Accept while it is clear of the edges."}
	case a*b < 0:
		return PatternAdvice{Accept: true, Text: "Toe on one flank and heel on the other at the right depth: accept while it is clear of the edges; depth decides, and it is right."}
	}
	return PatternAdvice{Accept: true, Text: "Depth is right and only one flank is off centre along the tooth: accept while it is clear of the edges."}
}
