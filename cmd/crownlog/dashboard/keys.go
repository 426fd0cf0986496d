package dashboard

import (
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/job"
)

// A keyHint is one key and what it does, as the key line and the help list it.
type keyHint struct{ key, does, more string }

// everyPage ends the keys of every page of a round.
var everyPage = []keyHint{
	{"j", "job", "the whole job with its hold points"},
	{"?", "help", "this page"},
	{"q", "quit", "leave; all that was stored is kept (also Ctrl-C)"},
}

var roundKeys = slices.Concat([]keyHint{
	{"space", "store", "store what has been measured now"},
	{"n", "next", "next position or step (also Right, PgDn); or lift the plunger"},
	{"b", "back", "go back a position (also Left, PgUp); or two quick lifts"},
	{"u", "undo", "take the last value back; the record keeps it as replaced"},
	{"x", "retry", "forget the rocks at this position and start it again"},
	{"p", "pause", "stop measuring until p is pressed again"},
}, everyPage)

// tryKeys are those of the tries of a lock.
var tryKeys = slices.Concat([]keyHint{
	{key: "y", does: "locked and freed"}, {key: "l", does: "did not lock"}, {key: "f", does: "did not free"},
	{key: "u", does: "undo"},
}, everyPage)

// boltKeys are those of bolts, whose wrench may have no reading.
var boltKeys = slices.Concat([]keyHint{
	{key: "enter", does: "clicked"}, {key: "a", does: "all of an early pass"},
	{key: "n", does: "next"}, {key: "b", does: "back"}, {key: "u", does: "undo"},
}, everyPage)

// doneKeys are those of a finished round that the job goes on from.
var doneKeys = slices.Concat([]keyHint{
	{key: "n", does: "next step"}, {key: "m", does: "adjusters moved"}, {key: "a", does: "again"},
	{key: "b", does: "back"}, {key: "u", does: "undo"},
}, everyPage)

// lessonKeys make the mistakes of a fitter, in a rehearsal that teaches.
var lessonKeys = []keyHint{
	{key: "K", does: "knock base"}, {key: "F", does: "flick"}, {key: "T", does: "turn too soon"}, {key: "S", does: "slip pinion"},
	{key: "P", does: "plug"}, {key: "c", does: "card"}, {key: "?", does: "help"}, {key: "q", does: "quit"},
}

var patternKeys = slices.Concat([]keyHint{
	{key: "arrows", does: "move"}, {key: "enter", does: "store"}, {key: "n", does: "next"},
	{key: "b", does: "back"}, {key: "u", does: "undo"},
}, everyPage)

// tickKey asks about the next entry of the list in the way.
const tickKey = 'v'

// paintTick asks whether an entry of a list was seen to.
func paintTick(c canvas, check job.Check) {
	c.bar("tick "+check.Name+" · y: done · any other key: not yet", "", inkHeader)
	col := column{c.pane(1, 2, c.w-2, c.h-2), 0}
	col.say(feature.Capitalise(check.What)+": done?", inkStrong)
	col.y++
	col.say("y puts it on record as done now.", inkPlain)
}

// cardKey brings the card of a dial back.
const cardKey = 'c'

// typedKeys stand in the help only: the key line is full.
var typedKeys = []keyHint{
	{"0-9", "type", "type a value read by eye; enter stores it"},
	{"c", "card", "how the dial is set up"},
	{"t, i", "note", "a note (text) or a photo (image) to be kept with this step"},
	{"o", "override", "go past what is blocked, with a typed reason"},
	{string(tickKey), "tick", "tick what the list wants, one entry after the other"},
	{"m, a", "moved", "at the end: moved -1, 1 not seated or 1 reversed; measure it again"},
	{"Ctrl-L", "redraw", "draw the whole screen anew"},
}

// jobKeys are the keys that do something in the job view now.
func jobKeys(st jobState, holds int, tick, typing bool) []keyHint {
	if typing {
		return []keyHint{{"enter", "record the reason and go on", ""}, {"esc", "leave the hold in place", ""}}
	}
	keys := []keyHint{{"j", "back", ""}}
	if !st.stays {
		keys = append(keys, keyHint{"up/down", "choose", ""}, keyHint{"enter", "measure", ""})
	}
	if holds > 1 {
		keys = append(keys, keyHint{"tab", "next hold", ""})
	}
	if holds > 0 {
		keys = append(keys, keyHint{"o", "override", ""})
	}
	if tick {
		keys = append(keys, keyHint{string(tickKey), "tick", ""})
	}
	return append(keys, everyPage[1:]...)
}

// keysLine lists the keys on one line; those that do not fit are left to the
// help.
func keysLine(c canvas, keys []keyHint) {
	air, all := 2, -2
	for _, k := range keys {
		all += k.width() + air
	}
	if all > c.w {
		air = 1
	}
	x := 0
	for _, k := range keys {
		if x+k.width() > c.w {
			return
		}
		x = c.text(x, 0, k.key, inkStrong)
		x = c.text(x+1, 0, k.does, inkFaint) + air
	}
}

// paintLesson says why a rehearsal stands still.
func paintLesson(c canvas, text string) {
	c.bar("rehearsal · space goes on", "q quits ", inkHeader)
	kind, why, _ := strings.Cut(text, ". ")
	word(c.pane(1, 2, c.w-2, lettersHigh(2)), kind, inkStrong)
	say(c.pane(1, 3+lettersHigh(2), c.w-2, c.h-4-lettersHigh(2)), why, "", inkAction)
}

// width is the columns a key takes with what it does.
func (k keyHint) width() int { return textWidth(k.key) + 1 + textWidth(k.does) }

// gestures are what hands do in place of a key.
var gestures = []string{
	"Rock between the stops and rest at each. When enough rocks agree: stored.",
	"Lift the plunger after the bell: next. Two quick lifts: back to the last one.",
	"One bell: stored. Two: gone back. Three: look at the screen.",
}

// legend explains the marks of the ring.
var legend = []look{
	verdictLooks[gum.Inside], verdictLooks[gum.TooClose], verdictLooks[gum.Outside], verdictLooks[gum.NotDecided],
	{'○', inkFaint, "not measured"},
}

// paintHelp covers c with the keys, the gestures, the shapes and the caution
// of the step at hand.
func paintHelp(c canvas, caution string) {
	c.bar("help · any key goes back", "", inkHeader)
	y := 1
	body := c.pane(1, 0, c.w-2, c.h)
	for _, k := range slices.Concat(roundKeys, typedKeys) {
		body.text(0, y, k.key, inkStrong)
		body.text(7, y, clip(k.more, body.w-7), inkPlain)
		y++
	}
	x := 0
	for _, l := range legend {
		if x+textWidth(l.says)+2 > body.w { // on the next line
			x, y = 0, y+1
		}
		x = body.text(x, y, string(l.mark), l.k)
		x = body.text(x+1, y, l.says, inkPlain) + 3
	}
	rest := column{body, y + 1}
	for _, g := range gestures {
		rest.say(g, inkPlain)
	}
	rest.say(cautionText(caution), inkCaution)
}
