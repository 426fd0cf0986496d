package dashboard

import (
	"bytes"
	"context"
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"
)

// Sequences that every terminal the program can draw on shares. Source:
// ECMA-48 (device status report) and the control sequences of xterm.
const (
	hideCursor = "\x1b[?25l"
	showCursor = "\x1b[?25h"
	noLink     = "\x1b]8;;\x1b\\" // no character here is a link
	plainSet   = "\x1b(B"
	lineSet    = "\x1b(0"
	areYouWell = "\x1b[5n"
	iAmWell    = "\x1b[0n"
)

const (
	// patience is how long a piece may wait for the one before it to be shown: twice
	// what one takes at 9600 baud. An answer that takes longer is lost.
	patience = 2 * time.Second
	// mostAhead is how many bytes may be on their way. Who quits over 9600 baud has
	// the terminal back a second later; a screenful takes five round trips to a far
	// shell.
	mostAhead = 1000
)

// A frugalLine is the line to the terminal. It leaves out what changes nothing
// there, a third of what the screen library writes, and sends a piece only once
// the terminal has told that the one before was shown: what lies between, a slow
// modem or a far shell, would else pile up seconds of frames. A terminal that does
// not answer the first time is not asked again.
type frugalLine struct {
	tcell.Tty
	more chan struct{} // one slot: something is left to send

	mu      sync.Mutex
	hidden  bool   // the cursor is
	drawing bool   // line drawing was used: the character set matters
	asked   int    // questions on their way
	answers bool   // the terminal answers
	deaf    bool   // it does not
	ending  bool   // no more questions
	rest    []byte // not sent yet
	held    []byte // the beginning of what may be an answer
}

func newLine(tty tcell.Tty) *frugalLine { return &frugalLine{Tty: tty, more: make(chan struct{}, 1)} }

// send sends what is left, piece by piece, and waits until all is shown.
func (l *frugalLine) send(ctx context.Context) {
	for again := true; again; {
		l.shown(ctx)
		l.mu.Lock()
		if again = ctx.Err() == nil && len(l.rest) > 0; again {
			l.piece()
		}
		l.mu.Unlock()
	}
}

// shown waits until the terminal has shown what was sent, if it tells.
func (l *frugalLine) shown(ctx context.Context) {
	const again = 2 * time.Millisecond
	for began := time.Now(); l.waits(time.Since(began)) && ctx.Err() == nil; {
		time.Sleep(again)
	}
}

// waits reports whether an answer is on its way; after so long a wait it counts as
// lost. Who quits, or sees nothing yet, has less patience.
func (l *frugalLine) waits(waited time.Duration) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if waited > patience || waited > patience/4 && (l.ending || !l.answers) {
		l.asked, l.deaf = 0, !l.answers
	}
	return l.asked > 0
}

// piece sends a piece with the question behind it, or the question alone while
// nobody has answered yet.
func (l *frugalLine) piece() {
	n := len(l.rest)
	switch {
	case l.deaf:
	case !l.answers:
		n = 0
	case n > mostAhead:
		if start := bytes.LastIndexByte(l.rest[:mostAhead], '\x1b'); start > 0 { // no sequence is cut in two
			n = start
		}
	}
	out := l.rest[:n:n]
	l.rest = l.rest[n:]
	if !l.deaf {
		out = append(out, areYouWell...)
		l.asked++
	}
	_, _ = l.Tty.Write(out) // that it is gone is noticed by who reads it
}

// Write implements tcell.Tty. A frame is what begins by hiding the cursor. What
// cannot be sent at once is left to send.
func (l *frugalLine) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	frame := bytes.HasPrefix(b, []byte(hideCursor))
	out := l.thrifty(b, frame)
	if l.ending || !frame && len(l.rest) == 0 {
		_, err := l.Tty.Write(out)
		return len(b), err
	}
	l.rest = append(l.rest, out...)
	if l.asked == 0 && len(out) > 0 {
		l.piece()
	}
	select {
	case l.more <- struct{}{}:
	default:
	}
	return len(b), nil
}

// thrifty is b without what changes nothing at the terminal.
func (l *frugalLine) thrifty(b []byte, frame bool) []byte {
	out := bytes.ReplaceAll(b, []byte(noLink), nil)
	if l.drawing = l.drawing || bytes.Contains(b, []byte(lineSet)); !l.drawing {
		out = bytes.ReplaceAll(out, []byte(plainSet), nil)
	}
	if l.hidden {
		out = bytes.ReplaceAll(out, []byte(hideCursor), nil)
	}
	l.hidden = !bytes.Contains(b, []byte(showCursor)) && (l.hidden || frame)
	return out
}

// Read implements tcell.Tty: it keeps the answers to itself. While one is on its
// way the beginning of one is held until the rest comes, be it the Escape key;
// of a terminal that has not answered yet the Escape key is let through.
func (l *frugalLine) Read(b []byte) (int, error) {
	for {
		n, err := l.Tty.Read(b[:max(1, len(b)-len(iAmWell))])
		if err != nil || n == 0 {
			return n, err
		}
		if n = copy(b, l.withoutAnswers(b[:n])); n > 0 {
			return n, nil
		}
	}
}

// withoutAnswers returns what was read but for the answers in it.
func (l *frugalLine) withoutAnswers(b []byte) []byte {
	l.mu.Lock()
	defer l.mu.Unlock()
	all := append(l.held, b...)
	l.held = nil
	rest := bytes.ReplaceAll(all, []byte(iAmWell), nil)
	if got := (len(all) - len(rest)) / len(iAmWell); got > 0 {
		l.answers, l.deaf = true, false
		l.asked = max(0, l.asked-got)
	}
	for n := min(len(rest), len(iAmWell)-1); n > 0 && l.asked > 0; n-- {
		if start := len(rest) - n; (n > 1 || l.answers) && bytes.HasPrefix([]byte(iAmWell), rest[start:]) {
			l.held = bytes.Clone(rest[start:])
			return rest[:start]
		}
	}
	return rest
}

// Drain implements tcell.Tty. What was not sent is not wanted any more; answers on
// their way would be typed to the shell.
func (l *frugalLine) Drain() error {
	l.mu.Lock()
	l.ending, l.rest = true, nil
	l.mu.Unlock()
	l.shown(context.Background())
	return l.Tty.Drain()
}
