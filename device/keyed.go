package device

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"
)

// A Keyed is a gauge read by eye, or one that types like a keyboard: one
// value on each line.
type Keyed struct {
	label    string
	unit     string
	division float64
	r        io.Reader
	now      func() time.Time
}

// NewKeyed returns a keyed gauge that reads lines from r. Values without a
// unit word are in unit.
func NewKeyed(label, unit string, r io.Reader, now func() time.Time) *Keyed {
	return &Keyed{label: label, unit: unit, r: r, now: now}
}

// SetDivision says what one division of the dial is, in the unit of the
// gauge, so that "3 1/2 div" can be typed.
func (k *Keyed) SetDivision(size float64) { k.division = size }

// Run sends a reading for every line that is a value and an EventGarbled for
// every other line that is not empty, then EventEnd at the end of the input.
// It returns nil when ctx ends or the input does, and never closes out. A
// Read of the input that blocks is left to end by itself.
func (k *Keyed) Run(ctx context.Context, out chan<- Event) error {
	lines := make(chan typed)
	fail := make(chan error, 1)
	go func() { fail <- k.scan(ctx, lines) }()
	send := func(ev Event) {
		ev.Time, ev.Gauge = k.now(), k.label
		select {
		case out <- ev:
		case <-ctx.Done():
		}
	}
	for {
		select {
		case <-ctx.Done():
			return nil
		case line := <-lines:
			k.line(line, send)
		case err := <-fail:
			if ctx.Err() == nil {
				send(Event{Kind: EventEnd, Text: "end of the typed values"})
			}
			return err
		}
	}
}

// typed is one line of the input, or the beginning of one that is too long.
type typed struct {
	text string
	cut  bool
}

// scan reads lines to the end of the input.
func (k *Keyed) scan(ctx context.Context, lines chan<- typed) error {
	cut := lineCutter{most: 256, line: func(line []byte, cut bool) {
		select {
		case lines <- typed{string(line), cut}:
		case <-ctx.Done():
		}
	}}
	buf := make([]byte, 4096)
	for ctx.Err() == nil {
		n, err := k.r.Read(buf)
		cut.feed(buf[:n])
		if errors.Is(err, io.EOF) {
			cut.flush()
			return nil
		}
		if err != nil {
			return fmt.Errorf("typed values: %w", err)
		}
	}
	return nil
}

// line turns one line into an event; a blank one is nothing.
func (k *Keyed) line(line typed, send func(Event)) {
	if line.cut {
		send(Event{Kind: EventGarbled, Text: fmt.Sprintf("line too long: %q...", line.text[:40])})
		return
	}
	text := trim([]byte(line.text))
	if len(text) == 0 {
		return
	}
	v, unit, err := ParseKeyed(string(text), k.division)
	if err != nil {
		send(Event{Kind: EventGarbled, Text: fmt.Sprintf("%v: %q", err, line.text)})
		return
	}
	if unit == "" {
		unit = k.unit
	}
	r := Reading{Time: k.now(), Gauge: k.label, Raw: line.text, Value: v, Unit: unit}
	send(Event{Kind: EventReading, Reading: r})
}
