package dashboard

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"crownlog/analysis/setup"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// panel is the whole screen as one tview primitive. It is touched by the
// screen's goroutine only.
type panel struct {
	*tview.Box
	src  Source
	quit func()

	screen  tcell.Screen
	ascii   bool // the terminal shows no character beyond ASCII
	styles  palette
	before  canvas // the frame on the screen
	view    logger.View
	onJob   bool // the job view is shown in place of the round
	help    bool
	ticking job.Check   // asked about; its Name is "" for nothing
	onPhone bool        // the code for the phone is shown
	phoned  bool        // a phone is there
	card    bool        // asked for
	read    job.Request // whose card was read
	job     jobState
	moved   *setup.Contact // of a pattern, by the arrows; nil: it is as on record
	typed   typedLine
	cable   cableLine
}

func newPanel(src Source, quit func()) *panel {
	if src.Pattern == nil {
		src.Pattern = func(string) PatternEntry { return PatternEntry{} }
	}
	p := &panel{
		job:     jobState{stays: src.Next == nil},
		Box:     tview.NewBox(),
		src:     src,
		quit:    quit,
		styles:  newPalette(src.NoColor),
		onPhone: src.Phone != nil,
	}
	p.show(src.Latest())
	return p
}

// show takes a new view.
func (p *panel) show(v logger.View) {
	v = v.OnScreen()
	if v.Feature != p.view.Feature {
		p.moved = nil // what was not stored is not there when it is opened again
	}
	p.view = v
	if p.src.Phone != nil {
		_, here := p.src.Phone.Status()
		p.onPhone = p.onPhone && (p.phoned || !here) // until a phone comes
		p.phoned = here
	}
}

// Draw implements tview.Primitive.
func (p *panel) Draw(s tcell.Screen) {
	x, y, w, h := p.GetRect()
	c := newCanvas(w, h, p.ascii)
	p.paint(c)
	p.blit(s, c, x, y)
	p.before = c
}

func (p *panel) paint(c canvas) {
	switch {
	case p.lesson() != "":
		kind, why, _ := strings.Cut(p.lesson(), ". ")
		paintNotice(c, "rehearsal · space goes on", "q quits ", kind, why)
	case p.onPhone:
		paintPhone(c, *p.src.Phone)
	case p.ticking.Name != "":
		paintNotice(c, "tick "+p.ticking.Name+" · y: done, on record as done now · any other key: not yet", "", "done?", feature.Capitalise(p.ticking.What))
	case p.help:
		paintHelp(c, p.view.Caution)
	case p.onJob:
		paintJob(c, p.src.Job(), p.job, p.scene())
	case p.onPattern():
		paintPattern(c, p.scene(), p.src.Pattern(p.view.Stage), p.moved)
	default:
		paintRound(c, p.scene())
	}
	if p.typed.what != nil {
		paintTyped(c.pane(0, c.h-1, c.w, 1), p.typed, p.view.Typed)
	}
}

// lesson is what a rehearsal that teaches stops for; "" for nothing.
func (p *panel) lesson() string {
	if p.src.Lesson == nil {
		return ""
	}
	return p.src.Lesson.Says()
}

// scene is the round with what a finished one shows beside it: the adjuster
// moves so far, and how the job goes on.
func (p *panel) scene() roundScene {
	s := roundScene{View: p.view, from: p.src.From, note: p.src.Note, teaches: p.src.Lesson != nil, card: p.cardUp()}
	if p.src.Phone != nil {
		s.phone, _ = p.src.Phone.Status()
	}
	if p.typed.what == typedValue {
		s.typed = p.typed.text
	}
	switch {
	case p.view.State != logger.StateDone:
		s.onward = p.view.Decides()
	case p.src.Job != nil:
		s.moves = p.src.Job().Moves
		if p.src.Next != nil {
			s.onward = onward(p.src.Job(), p.view)
		}
	}
	return s
}

// onward says how the job goes on after a finished round.
func onward(j JobView, v logger.View) string {
	if v.Move != nil && v.Move.Needed {
		return "Then press m: the move is recorded, and the job goes on with what it changed."
	}
	i := job.NextOf(j.Steps)
	if i < 0 {
		return "The job is COMPLETE. Press q: its report is written. j shows what is optional."
	}
	next := j.Steps[i]
	title := record.Title(next.Feature) + ", " + next.Stage
	switch {
	case isOf(next, v):
		return "Put it right, then press n to measure it again; j to choose another step."
	case len(next.Hold) > 0:
		return "Press n for " + title + ", which is on hold: j shows why."
	}
	return "Press n for " + title + ", or j to choose."
}

// cardUp reports whether the card of a dial is shown: until the first rock or a
// key, and when it is asked for.
func (p *panel) cardUp() bool {
	return p.card || p.view.Fresh && p.read != (job.Request{Stage: p.view.Stage, Feature: p.view.Feature})
}

// onPattern reports whether the feature is a pattern to be drawn by hand.
func (p *panel) onPattern() bool { return record.IsPattern(p.view.Feature) }

// blit puts the cells that changed since the frame before on the screen, which
// keeps the others.
func (p *panel) blit(s tcell.Screen, c canvas, x0, y0 int) {
	old := p.before
	all := old.w != c.w || old.h != c.h
	for i, now := range c.cells {
		if now.r == filler || !all && now == old.cells[i] {
			continue
		}
		s.SetContent(x0+i%c.w, y0+i/c.w, cmp.Or(now.r, ' '), nil, p.styles[now.ink])
	}
}

// key takes a key that a hand pressed.
func (p *panel) key(e *tcell.EventKey) {
	switch r := e.Rune(); {
	case e.Key() == tcell.KeyCtrlC:
		p.quit()
	case e.Key() == tcell.KeyCtrlL:
		p.screen.Sync()
	case p.typed.what != nil:
		if p.typed.key(e) {
			p.useTyped()
		}
	case p.ticking.Name != "":
		if r == 'y' {
			p.src.Tick(p.ticking.Name)
		}
		p.ticking = job.Check{}
	case p.help, p.onPhone:
		p.help, p.onPhone = false, false
	case r == 'q':
		p.quit()
	case p.src.Lesson != nil && p.src.Lesson.Key(r):
	case r == 'w' && p.src.Phone != nil:
		p.onPhone = true
	case r == '?':
		p.help = true
	case r == 'v' && p.src.Tick != nil:
		if p.ticking = p.view.Tick; p.onJob {
			p.ticking = job.ToTick(p.src.Job().open())
		}
	case r == 'j' && p.src.Job != nil:
		p.onJob, p.job.chosen = !p.onJob, 0
		if j := p.src.Job(); job.NextOf(j.Steps) < 0 {
			p.job.chosen = 1 + slices.IndexFunc(j.Steps, func(s job.Step) bool { return isOf(s, p.view) })
		}
	case p.onJob:
		p.jobKey(e)
	case r == 'c' && !p.cardUp():
		p.card = p.view.Card != nil
	case p.readCard(e):
	case p.src.Keep != nil && keepKeys[r] != nil:
		p.typed.what = keepKeys[r]
	case p.onPattern():
		p.patternKey(e)
	default:
		p.roundKey(e)
	}
}

// keepKeys ask for what is to be kept with the step.
var keepKeys = map[rune]*purpose{'t': typedNote, 'i': typedPhoto}

// roundCommands are what the keys ask of a round.
var roundCommands = map[string]logger.Command{
	"Rune[ ]": logger.CmdCapture, "Rune[n]": logger.CmdNext, "Rune[b]": logger.CmdBack,
	"Rune[u]": logger.CmdUndo, "Rune[x]": logger.CmdRetry, "Rune[p]": logger.CmdPause,
	"Right": logger.CmdNext, "PgDn": logger.CmdNext, "Left": logger.CmdBack, "PgUp": logger.CmdBack,
}

// readCard takes the card away at any key, and reports whether that is all the key
// does: before the first rock there is nothing to store or to go on from.
func (p *panel) readCard(e *tcell.EventKey) bool {
	up := p.cardUp()
	p.card, p.read = false, job.Request{Stage: p.view.Stage, Feature: p.view.Feature}
	cmd := roundCommands[e.Name()]
	return up && (e.Rune() == 'c' || cmd == logger.CmdNext || cmd == logger.CmdCapture && p.view.Wanted > 1)
}

// patternMoves are what the arrows do to a contact: along and up the flank.
var patternMoves = map[tcell.Key][2]float64{
	tcell.KeyRight: {1, 0}, tcell.KeyLeft: {-1, 0}, tcell.KeyUp: {0, 1}, tcell.KeyDown: {0, -1},
}

// patternKey moves the contact in hand; the other keys are those of a round.
func (p *panel) patternKey(e *tcell.EventKey) {
	contact := inHand(p.view, p.moved).contact
	by, arrow := patternMoves[e.Key()]
	switch {
	case arrow:
		p.moved = move(contact, by[0], by[1])
	case e.Key() == tcell.KeyEnter:
		p.src.Command(logger.CmdPattern(contact.Along, contact.Up))
	default:
		p.command(roundCommands[e.Name()])
	}
}

// roundKey is a key at a round, under way or finished.
func (p *panel) roundKey(e *tcell.EventKey) {
	v, r := p.view, e.Rune()
	switch {
	case v.State != logger.StateDone && e.Key() == tcell.KeyRune && strings.ContainsRune("0123456789-+.,", r):
		p.typed = typedLine{what: typedValue, text: string(r)}
	case tryTexts[v.Feature][r] != "":
		p.typed = typedLine{what: typedValue, text: tryTexts[v.Feature][r]}
		if p.typed.text == "yes " && !v.Window.Any() { // no time to be typed behind it
			p.useTyped()
		}
	case r == 'o':
		p.typed.what = typedReason
	case p.finished() && r == 'a':
		p.src.Next(job.Request{Stage: v.Stage, Feature: v.Feature, Again: true})
	case p.finished() && r == 'm' && v.Move != nil:
		p.typed = typedLine{what: typedMove, text: advisedMove(*v.Move)}
	case ofBolts(v) && e.Key() == tcell.KeyEnter:
		p.command(logger.CmdClick)
	case ofBolts(v) && r == 'a':
		p.command(logger.CmdClickPass)
	default:
		p.command(roundCommands[e.Name()])
	}
}

// finished reports whether the round is over and the job can go on from it.
func (p *panel) finished() bool { return p.src.Next != nil && p.view.State == logger.StateDone }

// command asks the round, or the job where the round is over; "" for nothing.
func (p *panel) command(c logger.Command) {
	switch {
	case c == logger.CmdNext && p.finished():
		p.nextStep()
	case c != "":
		p.src.Command(c)
	}
}

// nextStep asks for the next step, which is this one again where it is outside.
func (p *panel) nextStep() {
	j := p.src.Job()
	i := job.NextOf(j.Steps)
	switch {
	case i < 0:
	case isOf(j.Steps[i], p.view):
		p.src.Next(job.Request{Stage: p.view.Stage, Feature: p.view.Feature, Remeasure: true})
	default:
		p.src.Next(job.Request{})
	}
}

// useTyped does what the typed line asks, and closes it; what cannot be used stays
// to be mended.
func (p *panel) useTyped() {
	if err := p.typed.what.use(p, strings.TrimSpace(p.typed.text)); err != nil {
		p.typed.wrong = err.Error()
		return
	}
	p.typed = typedLine{}
}

// isOf reports whether a round measures a step.
func isOf(s job.Step, v logger.View) bool { return s.Stage == v.Stage && s.Feature == v.Feature }

// advisedMove is a move as it is typed.
func advisedMove(a setup.Advice) string {
	if !a.Needed {
		return ""
	}
	if a.Near.By != -a.Far.By {
		return fmt.Sprintf("crown %+g far %+g", a.Near.By, a.Far.By)
	}
	return fmt.Sprintf("%+g", a.Steps)
}

func (p *panel) jobKey(e *tcell.EventKey) {
	j := p.src.Job()
	open := j.open()
	switch {
	case e.Key() == tcell.KeyEscape:
		p.onJob = false
	case e.Key() == tcell.KeyDown:
		p.job.choose(j, 1)
	case e.Key() == tcell.KeyUp:
		p.job.choose(j, -1)
	case e.Key() == tcell.KeyEnter && p.src.Next != nil:
		step := j.Steps[p.job.at(j)]
		p.onJob = false
		p.src.Next(job.Request{Stage: step.Stage, Feature: step.Feature})
	case e.Key() == tcell.KeyTab && len(open) > 0:
		p.job.hold = (p.job.hold + 1) % len(open)
	case e.Rune() == 'o' && p.job.hold < len(open) && p.src.Override != nil:
		p.typed = typedLine{what: typedReason}
	}
}
