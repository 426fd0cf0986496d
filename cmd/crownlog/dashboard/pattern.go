package dashboard

import (
	"cmp"
	"math"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/logger"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A PatternEntry is what the entry of a contact pattern read by eye needs to
// know beside the view, which says what flank is entered and what of it is on
// record.
type PatternEntry struct {
	Form         string         // tooth form: "tapered", "uniform" or "unknown"
	PinionFree   bool           // the pinion depth may be changed
	Drive, Coast *setup.Contact // on record; nil: not yet
}

// A flank is one side of a tooth as it is drawn.
type flank struct {
	name    string
	contact setup.Contact
	inHand  bool // of the arrows
	stored  bool // the contact is on record
}

// flanks are the drive and the coast side: the one that the view is of as inHand
// has it, the other as it is on record.
func (e PatternEntry) flanks(v logger.View, moved *setup.Contact) [2]flank {
	sides := [2]flank{onRecord(e.Drive), onRecord(e.Coast)}
	if v.Feature == record.FeaturePatternCoast {
		sides[1] = inHand(v, moved)
	} else {
		sides[0] = inHand(v, moved)
	}
	sides[0].name, sides[1].name = "DRIVE", "COAST"
	return sides
}

// inHand is the flank of a view as the arrows left it; moved is nil where they have
// not moved it.
func inHand(v logger.View, moved *setup.Contact) flank {
	kept := contactOf(v)
	side := onRecord(kept)
	if moved != nil {
		side.contact, side.stored = *moved, kept != nil && near(kept.Along, moved.Along) && near(kept.Up, moved.Up)
	}
	side.inHand = true
	return side
}

func onRecord(kept *setup.Contact) flank {
	if kept == nil {
		return flank{}
	}
	return flank{contact: *kept, stored: true}
}

// contactOf is what a round has on record, first along, then up; nil: not yet.
func contactOf(v logger.View) *setup.Contact {
	if len(v.Positions) != 2 || math.IsNaN(v.Positions[0].Value) || math.IsNaN(v.Positions[1].Value) {
		return nil
	}
	return &setup.Contact{Along: v.Positions[0].Value, Up: v.Positions[1].Value}
}

// patternStep is how far an arrow key moves a contact, as a share of half the
// flank.
const patternStep = 0.1

func near(a, b float64) bool { return math.Abs(a-b) < patternStep/2 }

// move shifts a contact by so many steps, within the flank.
func move(p setup.Contact, along, up float64) *setup.Contact {
	shift := func(x, steps float64) float64 {
		return math.Round(min(max(x+steps*patternStep, -1), 1)/patternStep) * patternStep
	}
	return &setup.Contact{Along: shift(p.Along, along), Up: shift(p.Up, up)}
}

// paintPattern draws both flanks with their contact, the advice for the
// pinion as the sheet has it and, after a finished round, how the job goes on.
func paintPattern(c canvas, s roundScene, e PatternEntry, moved *setup.Contact) {
	head(c.pane(0, 0, c.w, 1), s)
	keysLine(c.pane(0, c.h-1, c.w, 1), patternKeys)
	body := c.pane(1, 1, c.w-2, c.h-2)
	const advice = 8
	high := max(body.h-advice-1, 3)
	half := (body.w - 2) / 2
	sides := e.flanks(s.View, moved)
	for i, side := range sides {
		paintFlank(body.pane(i*(half+2), 0, half, high), side)
	}
	patternAdvice(body.pane(0, high, body.w, body.h-high), s, e, sides)
}

// paintFlank draws one side of a tooth: root below, face above, toe left, heel
// right.
func paintFlank(c canvas, side flank) {
	title, k := side.name+"  ", inkFaint
	drawn := side.inHand || side.stored
	if side.inHand {
		title, k = "▶ "+title, inkStrong
	}
	title += words.Given(drawn, placeText(side.contact)) + words.Given(!drawn, "not entered yet") +
		words.Given(side.stored, " ✓ stored")
	c.text(0, 0, title, k)
	t := c.pane(5, 2, c.w-10, c.h-4)
	if t.h < 2 || t.w < 8 {
		return
	}
	c.centre(1, "face", inkFaint)
	c.centre(c.h-1, "root", inkFaint)
	c.text(0, 2+t.h/2, "toe", inkFaint)
	c.right(c.w, 2+t.h/2, "heel", inkFaint)
	for y := range t.h {
		for x := range t.w {
			along, up := 2*(float64(x)+0.5)/float64(t.w)-1, 1-2*(float64(y)+0.5)/float64(t.h)
			if drawn && inContact(side.contact, along, up) {
				t.set(x, y, '▓', inkDoubt)
			} else {
				t.set(x, y, '·', inkFaint)
			}
		}
	}
}

// inContact reports whether a point of the flank is under the contact, which
// is drawn as an oval two fifths of the tooth long.
func inContact(p setup.Contact, along, up float64) bool {
	return math.Hypot(along-0.6*p.Along, up-0.6*p.Up) <= 0.4
}

// placeText says where a contact is.
func placeText(p setup.Contact) string {
	along, up := p.Zones()
	where := [...]string{"toe, ", "", "heel, "}[along+1] + [...]string{"root", "", "face"}[up+1]
	return cmp.Or(strings.TrimSuffix(where, ", "), "central")
}

// patternAdvice writes what the pattern asks for once both flanks are known;
// one flank alone says too little.
func patternAdvice(c canvas, s roundScene, e PatternEntry, sides [2]flank) {
	col := column{canvas: c}
	if s.Alert != "" {
		col.say(strings.ToUpper(alertWord(s.View))+": "+s.Alert, inkAlarm)
	}
	todo := "Move the mark to where the compound is rubbed bare, then press enter."
	if s.State == logger.StateDone {
		todo = s.Action
	}
	col.say(todo, inkAction)
	advice := setup.ContactAdvice(sides[0].contact, sides[1].contact, e.Form, e.PinionFree)
	switch said := words.Contact(advice); {
	case !sides[0].inHand && !sides[0].stored, !sides[1].inHand && !sides[1].stored:
		col.say("The advice comes when both flanks are entered.", inkFaint)
	case advice.Stop:
		col.say("■ STOP · "+said, inkOutside)
	case advice.Accept:
		col.say("● ACCEPT · "+said, inkInside)
	default:
		col.say(said, inkStrong)
	}
	col.say(s.onward, inkPlain)
	col.say(caution(s.View), inkCaution)
}
