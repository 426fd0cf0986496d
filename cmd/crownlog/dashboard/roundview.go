package dashboard

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// The smallest screen that shows everything; a smaller one shows the reading,
// what to do and the keys.
const (
	fullWidth  = 80
	fullHeight = 24
)

// A roundScene is what the picture of a round shows beside its view.
type roundScene struct {
	logger.View
	from    string   // the port that is waited for, where nobody named it
	typed   string   // what is being typed for a value; "": nothing
	teaches bool     // mistakes can be made
	note    string   // to be read once
	card    bool     // how the dial is set up is shown in place of the picture
	moves   []string // the adjuster moves so far, after a finished round
	phone   string   // who has the buttons; "": there is no page for a phone
	onward  string   // how the job goes on after a finished round, else what would decide what is not sure; "": nothing
}

// paintRound draws a round: whose it is, the wheel with its positions, the
// reading and the state, the trace, the verdict so far, what to do next and
// the keys.
func paintRound(c canvas, s roundScene) {
	if c.w < 8 || c.h < 3 {
		return
	}
	head(c.pane(0, 0, c.w, 1), s)
	keysLine(c.pane(0, c.h-1, c.w, 1), s.keys())
	body := c.pane(0, 1, c.w, c.h-2)
	small := c.w < fullWidth || c.h < fullHeight
	say := actionRows(c, s)
	if small {
		say = min(max(body.h/4, 1), 3)
	}
	action(body.pane(0, body.h-say, body.w, say), s)
	body.h -= say
	switch {
	case s.card:
		paintCard(body, s)
	case small:
		paintLive(body, s, max(min(c.h/3, body.h-3), 0), true)
	case s.State == logger.StateDone:
		paintDone(body, s.View, s.moves)
	default:
		paintLive(body, s, c.h/3, false)
	}
}

// keys are those that do something now.
func (s roundScene) keys() string {
	onward := s.onward != "" && s.State == logger.StateDone
	switch {
	case onward && s.Move == nil: // no adjusters to be moved
		return strings.Replace(doneKeys, movedKey, "", 1)
	case onward:
		return doneKeys
	case s.teaches:
		return lessonKeys
	case s.Feature == record.FeatureEngagement:
		return tryKeys
	case ofBolts(s.View):
		return boltKeys
	}
	return roundKeys
}

// ofBolts reports whether bolts are pulled.
func ofBolts(v logger.View) bool {
	return v.Feature == record.FeatureWheelBolts || v.Feature == record.FeatureCapBolts
}

// actionRows is the height of the band that says what to do next: as many rows
// as its sentences take, or two lines of block letters on a large screen.
func actionRows(c canvas, s roundScene) int {
	rows := 1 // the line above, or room beside an alert
	for _, said := range []string{s.Alert, s.Action, s.onward, caution(s.View)} {
		rows += len(wrap(said, c.w-2, textWidth))
	}
	least := 4
	if c.h >= 36 && c.w >= 120 {
		least = 2*face(1).high() + 2
	}
	return max(least, min(rows, c.h/3))
}

// caution is that of the round until something is stored in it; of a dial it
// stands on the card.
func caution(v logger.View) string {
	if v.Bell > 0 || v.State == logger.StateDone || v.Alert != "" || v.Card != nil {
		return ""
	}
	return cautionText(v.Caution)
}

// paintLive draws a round while it is measured, with its number so many rows high;
// a small screen has no room for the wheel.
func paintLive(c canvas, s roundScene, digitRows int, small bool) {
	v := s.View
	stateRows, line := stateHigh(c), lineRows(c)
	if small {
		stateRows = 1
	}
	top := 1 + digitRows + stateRows + line
	right := c.pane(1, 0, c.w-2, top)
	switch {
	case small:
	case len(v.Positions) > 1:
		right = besideRing(c.pane(0, 0, c.w, top), v, top)
	default: // nothing beside it: in the middle
		wide := max(face(2*digitRows/letterRows).wide(digitTemplate(v)), fullWidth*3/5)
		right = right.pane((right.w-wide)/2, 0, wide, top)
	}
	reading(right, s, digitRows, stateRows)
	verdictStrip(c.pane(1, top, c.w-2, line), v)
	trace(c.pane(1, top+line, c.w-2, c.h-top-line), v)
}

// stateHigh is the height of the word for the state or the verdict.
func stateHigh(c canvas) int { return face(1 + (c.h-16)/24).high() }

// paintCard says how the dial is set up, with the caution of the step and, for
// the plunger to be pressed in by, the reading.
func paintCard(c canvas, s roundScene) {
	lines := [][]string{{"Set up the dial. Then rock or turn: this page goes. Key c brings it back."}}
	for i, line := range s.Card {
		lines = append(lines, []string{fmt.Sprintf("%d. %s", i+1, line)})
	}
	col := column{canvas: c.pane(1, 0, c.w-2, c.h)}
	col.y = paintFigures(col.canvas, lines, lineRows(c) > 1)
	col.say(s.note, inkCaution)
	col.say(cautionText(s.Caution), inkCaution)
	left := col.below()
	if rows := min(left.h-2, 8); rows > 2 && !s.Keyed {
		reading(left.pane(0, 1, left.w, left.h-1), s, rows-1, 0)
	}
}

// besideRing draws the ring of a round of several positions, at most so high, on
// the left of c and returns what is left of c.
func besideRing(c canvas, v logger.View, high int) canvas {
	left := 0
	if len(v.Positions) > 1 {
		left = c.w * 2 / 5
		big, small := ringMiddle(v)
		if marks := ringMarks(v.Positions, v.Decimals); v.Feature == record.FeatureCapBolts && len(marks)%2 == 0 {
			caps(c.pane(0, 0, left, high), marks, big, small)
		} else {
			ring(c.pane(0, 0, left, high), marks, labelWidth(v), big, small)
		}
	}
	return c.pane(left+1, 0, c.w-left-2, c.h)
}

// lineRows is the height of a line of facts: block letters on a large screen.
func lineRows(c canvas) int {
	if c.h >= 40 && c.w >= 2*fullWidth {
		return face(1).high()
	}
	return 1
}

// head is the first line: whose job, which stage and feature, and how much is
// stored.
func head(c canvas, s roundScene) {
	v, k := s.View, inkHeader
	if v.State == logger.StateCaptured {
		k = inkFlash
	}
	right := words.Given(v.Invented, "INVENTED DATA · ") + words.Given(s.phone != "", s.phone+" · ") +
		words.Given(v.Garbled > 0, fmt.Sprintf("%d broken · ", v.Garbled)) + fmt.Sprintf("%d stored ", v.Stored)
	what := v.Stage + " · " + record.Title(v.Feature)
	room := c.w - textWidth(right) - 2
	if whose := clip(v.Vehicle, room-textWidth(what)-3); whose != "" {
		what = whose + " · " + what
	}
	c.bar(what, right, k)
}

// ringMiddle is what stands inside the ring: which position of how many.
func ringMiddle(v logger.View) (big, small string) {
	n := strconv.Itoa(len(v.Positions))
	if v.Current < 0 || v.Current >= len(v.Positions) {
		return n + "/" + n, "all done"
	}
	p := v.Positions[v.Current]
	return strconv.Itoa(p.Index) + "/" + n, p.Label
}

// reading draws the number read from two metres, the state and what is known
// at this position.
func reading(c canvas, s roundScene, digitRows, stateRows int) {
	v := s.View
	shown, name := v.Reading, "reading"
	switch known := !math.IsNaN(v.Estimate); {
	case s.typed != "":
		name = "typed"
	case s.from != "" && v.State == logger.StateWaiting:
		name = "waiting for " + s.from[strings.LastIndexByte(s.from, '/')+1:]
	case v.State == logger.StateCaptured && known:
		shown, name = v.Estimate, record.Title(v.Feature)
	case v.Wanted > 1 && known && v.State == logger.StateMeasuring:
		shown, name = v.Estimate, record.Title(v.Feature)+" so far"
	case v.Rocks > 0 && v.State == logger.StateMeasuring && len(v.Stops) > 1:
		n := len(v.Stops) // too few rocks for a value with its uncertainty
		shown, name = math.Abs(v.Stops[n-1].Level-v.Stops[n-2].Level), "last rock"
	case v.Keyed && v.Stored > 0:
		name = "stored"
	}
	beside, ink := v.WindowText(), inkFaint
	if doubts := v.Doubts(); doubts != "" {
		beside, ink = doubts, inkOutside
	}
	title := name + ", " + v.Unit
	counting := v.Leg != "" && math.IsNaN(v.Reading) && s.typed == "" // nothing is read: the time left is what to look at
	if counting {
		title = v.Leg + ", to go"
	}
	if textWidth(title)+textWidth(beside) >= c.w {
		title = clip(v.Unit, c.w-textWidth(beside)-1)
	}
	c.right(c.w, 0, beside, ink)
	c.text(0, 0, title, inkFaint)
	k := inkStrong
	if v.State == logger.StateCaptured {
		k = inkInside
	}
	text, template := strings.Replace(units.Fixed(shown, v.Decimals), "–", "----", 1), digitTemplate(v)
	switch {
	case s.typed != "":
		text = strings.ReplaceAll(s.typed, ",", ".")
		template = text
	case counting:
		text, template = v.TimeLeft(), "00:00"
	}
	c.pane(0, 1, c.w, digitRows).digits(text, template, k)
	stateLine(c.pane(0, 1+digitRows, c.w, stateRows), v)
	y := 1 + digitRows + stateRows
	rockLine(c.pane(0, y, c.w, c.h-y), v)
}

// digitTemplate is as wide as any number of this round gets.
func digitTemplate(v logger.View) string {
	widest := 0.0
	for _, x := range []float64{v.Reading, v.Estimate, v.Window.Lower, v.Window.Upper} {
		if !math.IsNaN(x) {
			widest = max(widest, math.Abs(x))
		}
	}
	return "-" + units.Fixed(widest, v.Decimals)
}

// labelWidth is the columns a value of this round takes beside its mark.
func labelWidth(v logger.View) int {
	w := max(v.Decimals+2, textWidth(units.Fixed(v.Window.Lower, v.Decimals)), textWidth(units.Fixed(v.Window.Upper, v.Decimals)))
	if runout(v.Feature) && len(v.Positions) <= 12 {
		w++ // a sign; a crowded ring shrinks for it when one comes
	}
	return w
}

// stateLine writes the state word large; a fault calls for a look instead.
func stateLine(c canvas, v logger.View) {
	switch k := stateInks[v.State]; {
	case v.State == logger.StateLost, v.State == logger.StateHeld:
		c.word(string(v.State), k)
	case v.Alert != "":
		c.word(alertWord(v), inkOutside)
	case v.State == logger.StateDone:
		c.word("all stored", k)
	case v.Leg != "" && !math.IsNaN(v.Reading):
		c.word(v.TimeLeft(), inkStrong)
	default:
		c.word(cmp.Or(v.Act, string(v.State)), k)
	}
}

// stateInks are the inks of the states that are not plain.
var stateInks = map[logger.State]ink{
	logger.StateCaptured: inkInside, logger.StateDone: inkInside, logger.StateLost: inkOutside,
	logger.StatePaused: inkDoubt, logger.StateWaiting: inkDoubt, logger.StateHeld: inkDoubt,
}

// rockLine shows the rocks counted and the value so far.
func rockLine(c canvas, v logger.View) {
	var parts []part
	rocking := v.Wanted > 1 // what has no rocks wants one
	if rocking && v.Wanted <= 12 {
		done := min(v.Rocks, v.Wanted)
		parts = append(parts, part{strings.Repeat("●", done) + strings.Repeat("○", v.Wanted-done), inkInside})
	}
	if !math.IsNaN(v.Estimate) {
		parts = append(parts, part{v.SoFar(), inkStrong})
	}
	if rocking {
		count := fmt.Sprintf("%d of %d rocks", v.Rocks, v.Wanted)
		if v.Rocks > v.Wanted {
			count = fmt.Sprintf("%d rocks", v.Rocks)
		}
		parts = append(parts, part{count, inkPlain})
	}
	c.line(parts...)
}

// action is the band that says what to do next. A fault takes the whole band
// and says its remedy, with a word and a mark beside the colour.
func action(c canvas, s roundScene) {
	if s.Alert != "" {
		c.fill(inkAlarm)
		say(c.pane(1, 0, c.w-2, c.h), strings.ToUpper(alertWord(s.View))+": "+s.Alert, s.Action, inkAlarm)
		return
	}
	c.text(0, 0, strings.Repeat("─", c.w), inkFaint)
	inner := c.pane(1, 1, c.w-2, c.h-1)
	mind := caution(s.View)
	rows := max(min(len(wrap(mind, inner.w, textWidth)), inner.h-1), 0)
	c.pane(1, c.h-rows, inner.w, rows).paragraph(mind, inkCaution)
	inner.h -= rows
	say(inner, s.Action, s.onward, inkAction)
}

// say writes the first sentence as large as it fits, unless the second would be cut
// below it, and the second where there is room.
func say(c canvas, first, second string, k ink) {
	large, last := c, ""
	if c.h > face(1).high() && second != "" {
		large, last = c.pane(0, 0, c.w, c.h-1), clip(second, c.w)
	}
	if (last == "" || last == second) && large.big(first, k) {
		c.text(0, c.h-1, last, k)
		return
	}
	col := column{canvas: c}
	col.say(first, k)
	col.say(second, k)
}

// paintDone draws a finished round: the wheel, the verdict with its figures,
// and what to do about it.
func paintDone(c canvas, v logger.View, moves []string) {
	r := besideRing(c, v, min(c.h, c.w*2/5*2/3))
	rows := stateHigh(c)
	verdictWord(r.pane(0, 0, r.w, rows), v)
	y := rows
	if c.h > 24 {
		y++
	}
	y += paintFigures(r.pane(0, y, r.w, r.h-y), figures(v), lineRows(c) > 1)
	switch {
	case v.Move != nil && v.Move.Needed && r.h-y >= adjusterRows:
		adjusters(r.pane(0, y, r.w, r.h-y), v, moves)
	case v.Conclusion != "" && v.Conclusion != v.Action && y < r.h:
		r.pane(0, y, r.w, r.h-y).paragraph(v.Conclusion, inkPlain)
	}
}

// paintFigures writes facts, one group a line; large ones stand each on a line
// of its own. It returns the rows used.
func paintFigures(c canvas, lines [][]string, large bool) int {
	y := 0
	for _, facts := range lines {
		if !large {
			facts = []string{strings.Join(facts, " · ")}
		}
		for _, f := range facts {
			if p := c.pane(0, y, c.w, face(1).high()); large && p.big(f, inkPlain) {
				y += p.h
			} else {
				y += c.pane(0, y, c.w, min(3, c.h-y)).paragraph(f, inkPlain)
			}
		}
	}
	return y
}

// verdictWord writes the verdict of the round as large as it fits.
func verdictWord(c canvas, v logger.View) {
	look := verdictLooks[v.Verdict]
	if v.Verdict == gum.NotDecided {
		look.says = "measured"
	}
	c.word(look.says, look.k)
}
