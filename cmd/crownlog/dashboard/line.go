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

// patience is how long a frame may wait for the one before it to be shown. A
// frame has some 300 bytes, which take 0.3 s at 9600 baud; an answer that takes
// longer than this is lost.
const patience = 2 * time.Second

// A frugalLine is the line to the terminal. It leaves out what changes nothing
// there, a third of what the screen library writes, and asks after each frame
// whether it was shown: what lies between, a slow modem or a far shell, would
// else pile up seconds of frames. A terminal that does not answer the first time
// is not asked again.
type frugalLine struct {
	tcell.Tty
	mu      sync.Mutex
	hidden  bool   // the cursor is
	drawing bool   // line drawing was used: the character set matters
	asked   int    // questions on their way
	answers bool   // the terminal answers
	ending  bool   // no more questions
	held    []byte // the beginning of what may be an answer
}

// shown waits until the terminal has shown what was written, if it tells.
func (l *frugalLine) shown(ctx context.Context, patience time.Duration) {
	const again = 5 * time.Millisecond // a near terminal has answered before it is looked at
	for end := time.Now().Add(patience); l.waits(time.Now().After(end)) && ctx.Err() == nil; {
		time.Sleep(again)
	}
}

// waits reports whether an answer is on its way; a late one counts as lost.
func (l *frugalLine) waits(late bool) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.answers && late {
		l.asked = 0
	}
	return l.answers && l.asked > 0
}

// Write implements tcell.Tty. A frame is what begins by hiding the cursor.
func (l *frugalLine) Write(b []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	frame := bytes.HasPrefix(b, []byte(hideCursor))
	out := bytes.ReplaceAll(b, []byte(noLink), nil)
	if l.drawing = l.drawing || bytes.Contains(b, []byte(lineSet)); !l.drawing {
		out = bytes.ReplaceAll(out, []byte(plainSet), nil)
	}
	if l.hidden {
		out = bytes.ReplaceAll(out, []byte(hideCursor), nil)
	}
	l.hidden = !bytes.Contains(b, []byte(showCursor)) && (l.hidden || frame)
	if frame && len(out) > 0 && !l.ending && (l.answers || l.asked == 0) {
		out = append(out, areYouWell...)
		l.asked++
	}
	if len(out) > 0 {
		if _, err := l.Tty.Write(out); err != nil {
			return 0, err
		}
	}
	return len(b), nil
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
		l.answers = true
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

// Drain implements tcell.Tty. Answers on their way would else be typed to the
// shell.
func (l *frugalLine) Drain() error {
	l.mu.Lock()
	l.ending = true
	l.mu.Unlock()
	l.shown(context.Background(), patience/4) // who quits does not wait longer
	return l.Tty.Drain()
}
