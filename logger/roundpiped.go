package logger

import (
	"errors"
	"fmt"
	"strings"

	"crownlog/device"
)

// A LineError ends values from a file or a pipe at a line that was not taken:
// were the round to go on, the values behind it would go to the wrong places.
// What stood above the line is stored.
type LineError struct {
	Line   int  // from 1
	Stored int  // values of the round that stand
	Over   bool // the round had all its values before this line
	err    error
}

func (e *LineError) Error() string { return fmt.Sprintf("line %d: %v", e.Line, e.err) }
func (e *LineError) Unwrap() error { return e.err }

// piped is how far values from a file or a pipe were read.
type piped struct {
	line    int    // the latest that held something
	doubted int    // that of a value which waits to be given twice
	refused string // why the round took nothing from the line
}

// take hands an event on to the round, and ends the round at a line of which
// nothing came.
func (p *piped) take(r *Round, ev device.Event) error {
	above, bell := p.line, r.shown.Bell
	p.line, p.refused = max(above, ev.Line), ""
	switch {
	case ev.Line > 0 && r.done:
		return &LineError{p.line, r.shown.Stored, true, fmt.Errorf("it is left over: %s is complete without it", r.feat.Title)}
	case above > 0 && ev.Line > above+1:
		return &LineError{above + 1, r.shown.Stored, false, errors.New("it is empty: the place of the value behind it is not known")}
	case ev.Kind == device.EventGarbled:
		r.shown.Garbled++
		return &LineError{p.line, r.shown.Stored, false, errors.New(ev.Text)}
	}
	err := r.event(ev)
	if err == nil && p.refused != "" && r.shown.Bell == bell {
		return &LineError{p.line, r.shown.Stored, false, errors.New(strings.TrimSuffix(p.refused, "."))}
	}
	return err
}

// refuse says why nothing is taken of what was typed.
func (r *Round) refuse(text string) {
	r.piped.refused = text
	r.Tell(text)
}
