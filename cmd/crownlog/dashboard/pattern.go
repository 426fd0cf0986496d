package dashboard

import (
	"math"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/logger"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A PatternEntry is what the entry of a contact pattern read by eye needs to
// know beside the view. The feature of the view says which flank is entered.
type PatternEntry struct {
	Form         string         // tooth form: "tapered", "uniform" or "unknown"
	PinionFree   bool           // the pinion depth may be changed
	Drive, Coast *setup.Contact // as recorded before; nil: not yet
}

// A flankState is one flank as drawn: where the contact is and whether that is
// on record.
type flankState struct {
	contact setup.Contact
	stored  bool
	moved   bool // by the arrows, since it was last on record
}

// see learns from a view of its round what is on record: first along, then up.
func (s *flankState) see(v logger.View) {
	if len(v.Positions) != 2 || math.IsNaN(v.Positions[0].Value) || math.IsNaN(v.Positions[1].Value) {
		s.stored = false
		return
	}
	kept := setup.Contact{Along: v.Positions[0].Value, Up: v.Positions[1].Value}
	if !s.moved {
		s.contact = kept
	}
	near := func(a, b float64) bool { return math.Abs(a-b) < patternStep/2 }
	s.stored = near(s.contact.Along, kept.Along) && near(s.contact.Up, kept.Up)
	s.moved = s.moved && !s.stored
}

// patternState is what the fitter has drawn so far.
type patternState struct{ drive, coast flankState }

// newPatternState starts from what is on record.
func newPatternState(e PatternEntry) patternState {
	recorded := func(c *setup.Contact) flankState {
		if c == nil {
			return flankState{}
		}
		return flankState{contact: *c, stored: true}
	}
	return patternState{drive: recorded(e.Drive), coast: recorded(e.Coast)}
}

// inHand is the flank the arrows move.
func (s *patternState) inHand(feature string) *flankState {
	if feature == record.FeaturePatternCoast {
		return &s.coast
	}
	return &s.drive
}

// patternStep is how far an arrow key moves a contact, as a share of half the
// flank.
const patternStep = 0.1

// move shifts the contact in hand, within the flank.
func (s *flankState) move(along, up float64) {
	shift := func(x *float64, steps float64) {
		*x = math.Round(min(max(*x+steps*patternStep, -1), 1)/patternStep) * patternStep
	}
	shift(&s.contact.Along, along)
	shift(&s.contact.Up, up)
	s.stored, s.moved = false, true
}

// paintPattern draws both flanks with their contact, the advice for the
// pinion as the sheet has it and, after a finished round, how the job goes on.
func paintPattern(c canvas, s roundScene, e PatternEntry, st patternState) {
	v := s.View
	if c.w < 20 || c.h < 8 {
		return
	}
	head(c.pane(0, 0, c.w, 1), v, s.phone, false)
	keysLine(c.pane(0, c.h-1, c.w, 1), patternKeys)
	body := c.pane(1, 1, c.w-2, c.h-2)
	const advice = 8
	high := max(body.h-advice-1, 3)
	half := (body.w - 2) / 2
	coast := v.Feature == record.FeaturePatternCoast
	flank(body.pane(0, 0, half, high), "DRIVE", e.Form, st.drive, !coast)
	flank(body.pane(half+2, 0, half, high), "COAST", e.Form, st.coast, coast)
	patternAdvice(body.pane(0, high, body.w, body.h-high), v, e, st, s.onward)
}

// flank draws one side of a tooth: root below, face above, toe left, heel
// right, the heel taller on a tapered tooth.
func flank(c canvas, name, form string, st flankState, inHand bool) {
	k := inkFaint
	if inHand {
		k = inkStrong
		name = "▶ " + name
	}
	drawn, place := inHand || st.stored, "not entered yet"
	if drawn {
		place = placeText(st.contact)
	}
	if st.stored {
		place += " ✓ stored"
	}
	c.text(0, 0, name+"  "+place, k)
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
			along := 2*(float64(x)+0.5)/float64(t.w) - 1
			top := toothTop(form, along)
			up := 1 - 2*(float64(y)+0.5)/float64(t.h)
			if up > top {
				continue
			}
			reach := (up+1)/(top+1)*2 - 1 // height as a share of the tooth here
			t.set(x, y, '·', inkFaint)
			if drawn && inContact(st.contact, along, reach) {
				t.set(x, y, '▓', inkStop)
			}
		}
	}
}

// toothTop is the height of the face at a place along the tooth: a tapered
// tooth is a third lower at the toe.
func toothTop(form string, along float64) float64 {
	if form == "tapered" {
		return 1 - 0.3*(1-along)
	}
	return 1
}

// inContact reports whether a point of the flank is under the contact, which
// is drawn as an oval two fifths of the tooth long.
func inContact(p setup.Contact, along, up float64) bool {
	dx, dy := (along-0.6*p.Along)/0.4, (up-0.6*p.Up)/0.4
	return dx*dx+dy*dy <= 1
}

// placeText says where a contact is.
func placeText(p setup.Contact) string {
	var where []string
	add := func(x float64, low, high string) {
		switch {
		case x < -0.25:
			where = append(where, low)
		case x > 0.25:
			where = append(where, high)
		}
	}
	add(p.Along, "toe", "heel")
	add(p.Up, "root", "face")
	if len(where) == 0 {
		return "central"
	}
	return strings.Join(where, ", ")
}

// patternAdvice writes what the pattern asks for once both flanks are known;
// one flank alone says too little.
func patternAdvice(c canvas, v logger.View, e PatternEntry, st patternState, onward string) {
	if v.Alert != "" {
		band := c.pane(0, 0, c.w, 2)
		band.fill(inkAlarm)
		band.paragraph(strings.ToUpper(alertWord(v))+": "+v.Alert, inkAlarm)
		c = c.pane(0, 2, c.w, c.h-2)
	}
	todo := "Move the mark to where the compound is rubbed bare, then press enter."
	if v.State == logger.StateDone {
		todo = v.Action
	}
	col := column{canvas: c}
	col.say(todo, inkAction)
	hand := st.inHand(v.Feature)
	drive, coast := st.drive.stored || hand == &st.drive, st.coast.stored || hand == &st.coast
	a := setup.ContactAdvice(st.drive.contact, st.coast.contact, e.Form, e.PinionFree)
	switch {
	case !drive || !coast:
		col.say("The advice comes when both flanks are entered.", inkFaint)
	case a.Stop:
		col.say("■ STOP · "+words.Contact(a), inkOutside)
	case a.Accept:
		col.say("● ACCEPT · "+words.Contact(a), inkInside)
	default:
		col.say(words.Contact(a), inkStrong)
	}
	col.say(onward, inkPlain)
	col.say(caution(v), inkCaution)
}
