package dashboard

import (
	"strings"
	"time"

	"github.com/gdamore/tcell/v2"
)

const (
	// quickKey is the most between two keys of a cable, and how long a key that may be
	// of one is held, which is not felt. A USB keyboard is asked every 1 to 10 ms and
	// tells a key in two answers, and some cables wait for slow computers; a quick hand
	// takes 120 ms from key to key.
	quickKey = 50 * time.Millisecond
	// ofHand is how many keys of a hand come so soon after each other, where two fingers
	// roll.
	ofHand = 2
	// cutKey is for how long what comes may belong to what was cut by a pause: a busy
	// computer or a far shell hands on no key for a while, and then all.
	cutKey = time.Second
)

// A cableLine is what a cable may be typing. It begins as a number does.
type cableLine struct {
	keys []*tcell.EventKey // held
	last time.Time         // when a key came
	hand time.Time         // when one that was held came of a hand
	cut  bool              // what comes is the rest of a line that was cut
}

// lookAgain is the key that nobody pressed: time went by.
var lookAgain = tcell.NewEventKey(tcell.KeyNUL, 0, tcell.ModNone)

// anyKey takes every key; none reaches tview. Where a gauge types, a line that comes
// faster than a hand types is its reading, on whatever page, and no key of it does
// anything else.
func (p *panel) anyKey(e *tcell.EventKey) *tcell.EventKey {
	l, now := &p.cable, e.When()
	if e == lookAgain {
		now = time.Now()
	}
	pause := now.Sub(l.last)
	if pause >= quickKey {
		p.letGo()
	}
	held, typed := len(l.keys), e.Key() == tcell.KeyRune
	end := e.Key() == tcell.KeyEnter || e.Key() == tcell.KeyTab || e.Key() == tcell.KeyLF
	another := now.Sub(l.hand) < cutKey // may have come before
	switch {
	case e == lookAgain:
		return nil
	case l.cut && pause < cutKey && (typed || end):
		l.cut = !end
	case p.src.Cable != nil && held > 0 && end && (held > ofHand || !another):
		p.give(another)
	case p.src.Cable != nil && typed && (held > 0 || strings.ContainsRune("0123456789+-., ", e.Rune())):
		l.keys, l.cut = append(l.keys, e), false
		// In a full queue there are keys, each of which looks again.
		time.AfterFunc(quickKey, func() { _ = p.screen.PostEvent(lookAgain) })
	default:
		p.letGo()
		p.key(e)
	}
	l.last = now
	return nil
}

// letGo gives the keys that are held to the panel where a hand may have typed them;
// else a cable was cut.
func (p *panel) letGo() {
	l := &p.cable
	if len(l.keys) > ofHand {
		p.give(true)
		l.cut = true
	}
	for _, e := range l.keys {
		p.key(e)
		l.hand = l.last
	}
	l.keys = nil
}

// give gives the line to its gauge, with a NUL that spoils it where it may be a part.
func (p *panel) give(part bool) {
	var line strings.Builder
	for _, e := range p.cable.keys {
		line.WriteRune(e.Rune())
	}
	if part {
		line.WriteByte(0)
	}
	p.src.Cable(line.String() + "\n")
	p.cable.keys = nil
}
