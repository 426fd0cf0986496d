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
	Stop       bool // nothing that may be moved can put it right
	CrownWheel int  // +1 towards the pinion (less backlash), -1 away, 0 leave
	Pinion     int  // +1 towards the crown wheel's axis (in), -1 out, 0 leave
	Seen       Seen // what the contact shows
	Odd        bool // along the tooth the flanks lie the other way than the tooth form should: look at the form first
}

// Seen is what the contact on both flanks shows.
type Seen string

// What ContactAdvice tells apart.
const (
	SeenNothing    Seen = "nothing"     // a flank is not entered
	SeenCentral    Seen = "central"     // in the middle of both flanks
	SeenToe        Seen = "toe"         // of both
	SeenHeel       Seen = "heel"        // of both
	SeenToeCentre  Seen = "toe-centre"  // of both, between the toe and the middle
	SeenToeForm    Seen = "toe-form"    // of both, and the tooth form is not tapered
	SeenHeelForm   Seen = "heel-form"   // of both, and the tooth form is not tapered
	SeenAsFound    Seen = "as-found"    // where a used set's contact was found, on both flanks
	SeenFace       Seen = "face"        // of both, the pinion may be moved
	SeenRoot       Seen = "root"        // of both, the pinion may be moved
	SeenFaceLocked Seen = "face-locked" // and it may not
	SeenRootLocked Seen = "root-locked"
	SeenFaceForm   Seen = "face-form" // and the tooth form has to be known first
	SeenRootForm   Seen = "root-form"
	SeenOpposite   Seen = "opposite-depth"   // face on one flank, root on the other
	SeenOffEdge    Seen = "off-edge"         // one flank off the edge, the pinion may not be moved
	SeenOneDepth   Seen = "one-flank-deep"   // depth is wrong on one flank only
	SeenOffEnd     Seen = "off-end"          // off the end of the tooth on one flank
	SeenUniform    Seen = "apart-uniform"    // toe on one, heel on the other, uniform depth
	SeenApart      Seen = "apart"            // the same on other teeth
	SeenOneLength  Seen = "one-flank-length" // one flank off centre along the tooth
)

const (
	patternMiddle = 0.25 // within this of the middle counts as central
	patternToe    = 0.5  // a light print is half as long as the tooth: with its centre within this it ends short of the toe
	patternEdge   = 0.85 // beyond this the contact runs off the flank
)

// ContactAdvice reads the contact on the drive and coast flanks. form is one of
// the tooth forms; with FormUnknown no pinion move is ever advised, and one of the
// crown wheel on FormTapered alone. pinionFree says whether the pinion's depth may
// be changed: when it may not, backlash is the only thing to move and it shifts
// the contact between heel and toe only, so a face or root pattern is a stop.
//
// Depth is read first, since it alone fixes the pinion, and never from one
// flank. Sources: gear-set makers' setting sheets and heavy-axle handbooks
// (common practice); the uniform-depth rows rest on one sheet.
func ContactAdvice(drive, coast Contact, form string, pinionFree bool) PatternAdvice {
	if !stat.Finite(drive.Along) || !stat.Finite(drive.Up) || !stat.Finite(coast.Along) || !stat.Finite(coast.Up) {
		return PatternAdvice{Seen: SeenNothing}
	}
	depthDrive, depthCoast := zone(drive.Up), zone(coast.Up)
	switch {
	case depthDrive == 0 && depthCoast == 0:
		return lengthAdvice(drive, coast, form)
	case depthDrive == depthCoast:
		return depthAdvice(depthDrive, drive, coast, form, pinionFree)
	case depthDrive == -depthCoast:
		return PatternAdvice{Stop: !pinionFree, Seen: SeenOpposite}
	case !pinionFree && (edge(drive) || edge(coast)):
		return PatternAdvice{Stop: true, Seen: SeenOffEdge}
	}
	return PatternAdvice{Seen: SeenOneDepth}
}

// Near reports whether a contact lies where another does, as well as an eye
// tells the zones apart.
func (c Contact) Near(o Contact) bool {
	return math.Abs(c.Along-o.Along) <= patternMiddle && math.Abs(c.Up-o.Up) <= patternMiddle
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

func edge(c Contact) bool { return math.Abs(c.Along) > patternEdge || math.Abs(c.Up) > patternEdge }

// depthAdvice is for both flanks at the face (+1) or both at the root (-1).
func depthAdvice(depth int, drive, coast Contact, form string, pinionFree bool) PatternAdvice {
	seen, locked, ask := SeenFace, SeenFaceLocked, SeenFaceForm
	if depth < 0 {
		seen, locked, ask = SeenRoot, SeenRootLocked, SeenRootForm
	}
	switch {
	case !pinionFree:
		return PatternAdvice{Stop: true, Seen: locked}
	case form != FormTapered && form != FormUniform:
		return PatternAdvice{Seen: ask}
	}
	// The same pinion move shifts the flanks apart along the tooth. A contact
	// that is apart the other way was not made by depth alone.
	apart := zone(drive.Along) - zone(coast.Along)
	expect := depth
	if form == FormUniform {
		expect = -depth
	}
	return PatternAdvice{Pinion: depth, Seen: seen, Odd: apart*expect < 0}
}

// lengthAdvice is for contact at the right depth on both flanks.
func lengthAdvice(drive, coast Contact, form string) PatternAdvice {
	a, b := zone(drive.Along), zone(coast.Along)
	switch {
	case a == 0 && b == 0:
		return PatternAdvice{Accept: true, Seen: SeenCentral}
	case a < 0 && b < 0 && drive.Along > -patternToe && coast.Along > -patternToe:
		// Load moves the contact towards the heel: setting sheets want it so.
		return PatternAdvice{Accept: true, Seen: SeenToeCentre}
	case a == b && form != FormTapered:
		return PatternAdvice{Seen: map[int]Seen{-1: SeenToeForm, 1: SeenHeelForm}[a]}
	case a == b:
		return PatternAdvice{CrownWheel: a, Seen: map[int]Seen{-1: SeenToe, 1: SeenHeel}[a]}
	case edge(drive) || edge(coast):
		return PatternAdvice{Stop: true, Seen: SeenOffEnd}
	case a*b < 0 && form == FormUniform:
		return PatternAdvice{Accept: true, Seen: SeenUniform}
	case a*b < 0:
		return PatternAdvice{Accept: true, Seen: SeenApart}
	}
	return PatternAdvice{Accept: true, Seen: SeenOneLength}
}
