package dashboard

import (
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger/job"
	"crownlog/logger/words"
)

// The keys of each page and what they do, two blanks apart, as its last line lists
// them.
const (
	everyPage   = "  j job  ? help  q quit"
	roundKeys   = "space store  n next  b back  u undo  x retry  p pause" + everyPage
	tryKeys     = "y locked and freed  l did not lock  f did not free  u undo" + everyPage    // of a lock
	boltKeys    = "enter clicked  a all of an early pass  n next  b back  u undo" + everyPage // a wrench may have no reading
	movedKey    = "  m adjusters moved"
	doneKeys    = "n next step" + movedKey + "  a again  b back  u undo" + everyPage // of a finished round that the job goes on from
	lessonKeys  = "K knock base  F flick  T turn too soon  S slip pinion  P plug  c card  ? help  q quit"
	patternKeys = "arrows move  enter store  n next  b back  u undo" + everyPage
)

// helpKeys explain the keys.
var helpKeys = [][2]string{
	{"space", "store what has been measured now"},
	{"n", "next position or step (also Right, PgDn); or lift the plunger"},
	{"b", "go back a position (also Left, PgUp); or two quick lifts"},
	{"u", "take the last value back; the record keeps it as replaced"},
	{"x", "forget the rocks at this position and start it again"},
	{"p", "stop measuring until p is pressed again"},
	{"j", "the whole job with its hold points"},
	{"?", "this page"},
	{"q", "leave; all that was stored is kept (also Ctrl-C)"},
	{"0-9", "type a value read by eye; enter stores it"},
	{"c", "how the dial is set up"},
	{"t, i", "a note (text) or a photo (image) to be kept with this step"},
	{"o", "go past what is blocked, with a typed reason"},
	{"v", "tick what the list wants, one entry after the other"},
	{"m, a", "at the end: moved -1, 1 not seated or 1 reversed; measure it again"},
	{"Ctrl-L", "draw the whole screen anew"},
}

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

// jobKeys are the keys that do something in the job view now.
func jobKeys(st jobState, open []job.HoldPoint) string {
	return "j back" + words.Given(!st.stays, "  up/down choose  enter measure") +
		words.Given(len(open) > 1, "  tab next hold") + words.Given(len(open) > 0, "  o override") +
		words.Given(job.ToTick(open).Name != "", "  v tick") + "  ? help  q quit"
}

// keysLine lists keys on one line; those that do not fit are left to the help.
func keysLine(c canvas, keys string) {
	x, air := 0, 2
	if textWidth(keys) > c.w {
		air = 1
	}
	for _, hint := range strings.Split(keys, "  ") {
		if x+textWidth(hint) > c.w {
			return
		}
		key, does, _ := strings.Cut(hint, " ")
		x = c.text(x, 0, key, inkStrong)
		x = c.text(x+1, 0, does, inkFaint) + air
	}
}

// paintNotice covers c with a word and a sentence.
func paintNotice(c canvas, bar, right, word, text string) {
	c.bar(bar, right, inkHeader)
	rows := face(2).high()
	c.pane(1, 2, c.w-2, rows).word(word, inkStrong)
	say(c.pane(1, 3+rows, c.w-2, c.h-4-rows), text, "", inkAction)
}

// paintHelp covers c with the keys, the gestures, the shapes and the caution
// of the step at hand.
func paintHelp(c canvas, caution string) {
	c.bar("help · any key goes back", "", inkHeader)
	y := 1
	body := c.pane(1, 0, c.w-2, c.h)
	for _, k := range helpKeys {
		body.text(0, y, k[0], inkStrong)
		body.text(7, y, clip(k[1], body.w-7), inkPlain)
		y++
	}
	x := 0
	for _, l := range legend {
		x = body.text(x, y, string(l.mark), l.k)
		x = body.text(x+1, y, l.says, inkPlain) + 3
	}
	rest := column{body, y + 1}
	for _, g := range gestures {
		rest.say(g, inkPlain)
	}
	rest.say(cautionText(caution), inkCaution)
}
