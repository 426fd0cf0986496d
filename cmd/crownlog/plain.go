package main

import (
	"fmt"
	"math"
	"slices"
	"time"

	"crownlog/logger"
	"crownlog/logger/report"
)

// plainListener returns a listener that prints round events on con.out as
// lines: plain words, or JSON.
func plainListener(con *console, asJSON bool) func(logger.Event) {
	if asJSON {
		return func(ev logger.Event) { _ = con.json(roundLine(ev)) }
	}
	return func(ev logger.Event) {
		if line := plainLine(ev); line != "" {
			fmt.Fprintln(con.out, line)
		}
	}
}

// roundLine is ev as a JSON line.
func roundLine(ev logger.Event) report.Object {
	placed, stored := ev.Position.Index > 0, ev.Kind == logger.EventCaptured || ev.Kind == logger.EventUndone
	c := ev.Capture
	return slices.Concat(
		report.Object{{"event", ev.Kind}, {"time", ev.Time.Format(time.RFC3339Nano)}},
		given(placed, "position", ev.Position.Index),
		given(placed && !math.IsNaN(ev.Position.AngleDeg), "angle_deg", ev.Position.AngleDeg),
		given(stored && !math.IsNaN(c.Value), "value", c.Value),
		given(stored && c.Unit != "", "unit", c.Unit),
		given(stored && !math.IsNaN(c.U), "standard_uncertainty", c.U),
		given(stored && c.Quality != "", "quality", c.Quality), given(stored && c.By != "", "by", c.By),
		given(ev.Fault != "", "fault", ev.Fault),
		given(ev.Text != "", "text", ev.Text),
	)
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
		return "done" + prefixed(": ", ev.Text)
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
