package main

import (
	"fmt"
	"math"
	"time"

	"crownlog/logger"
)

// A roundLine is one round event as a JSON line.
type roundLine struct {
	Event    logger.EventKind `json:"event"`
	Time     time.Time        `json:"time"`
	Position int              `json:"position,omitempty"`
	AngleDeg *number          `json:"angle_deg,omitempty"`
	Value    *number          `json:"value,omitempty"`
	Unit     string           `json:"unit,omitempty"`
	U        *number          `json:"standard_uncertainty,omitempty"`
	Quality  string           `json:"quality,omitempty"`
	Fault    string           `json:"fault,omitempty"`
	Text     string           `json:"text,omitempty"`
}

// plainListener returns a listener that prints round events on con.out as
// lines: plain words, or JSON.
func plainListener(con *console, asJSON bool) func(logger.Event) {
	if asJSON {
		return func(ev logger.Event) { _ = con.json(newRoundLine(ev)) }
	}
	return func(ev logger.Event) {
		if line := plainLine(ev); line != "" {
			fmt.Fprintln(con.out, line)
		}
	}
}

func newRoundLine(ev logger.Event) roundLine {
	l := roundLine{Event: ev.Kind, Time: ev.Time, Position: ev.Position.Index, Fault: string(ev.Fault), Text: ev.Text}
	if ev.Position.Index > 0 {
		l.AngleDeg = numberOrNil(ev.Position.AngleDeg)
	}
	if ev.Kind == logger.EventCaptured || ev.Kind == logger.EventUndone {
		l.Value, l.Unit = numberOrNil(ev.Capture.Value), ev.Capture.Unit
		l.U, l.Quality = numberOrNil(ev.Capture.U), ev.Capture.Quality
	}
	return l
}

// plainLine says ev in one line; "" for what only a screen shows.
func plainLine(ev logger.Event) string {
	switch ev.Kind {
	case logger.EventStop, logger.EventRock:
		return ""
	case logger.EventCaptured:
		return captureLine(ev)
	case logger.EventUndone:
		return "undone: " + ev.Position.Label
	case logger.EventFault:
		if ev.Fault == "" {
			return "look: " + ev.Text
		}
		return fmt.Sprintf("fault %s: %s", ev.Fault, ev.Text)
	case logger.EventCleared:
		return "fault over"
	case logger.EventPosition:
		return fmt.Sprintf("position %d, %s", ev.Position.Index, ev.Position.Label)
	case logger.EventGauge:
		return "gauge: " + ev.Text
	case logger.EventDone:
		return "round done" + prefixed(": ", ev.Text)
	}
	return ev.Text
}

// captureLine is "stored 0.1520 mm ± 0.0031 mm at position 3, 90°"; ± is at 95 %.
func captureLine(ev logger.Event) string {
	c := ev.Capture
	line := "stored"
	if !math.IsNaN(c.Value) {
		line += " " + withDoubt(c.Value, 2*c.U, unitDecimals(c.Unit), c.Unit)
	}
	if ev.Position.Index > 0 {
		line += fmt.Sprintf(" at position %d, %s", ev.Position.Index, ev.Position.Label)
	}
	if c.Quality != "" && c.Quality != "ok" {
		line += " (" + c.Quality + ")"
	}
	return line + prefixed(": ", c.NoteText())
}

func prefixed(prefix, s string) string {
	if s == "" {
		return ""
	}
	return prefix + s
}
