package device

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"crownlog/device/frame"
)

// A Keyed is a gauge read by eye, or one that types like a keyboard: lines of
// values.
type Keyed struct {
	label string
	unit  string
	r     io.Reader
	parse func(line string) ([]frame.KeyedValue, error)
	now   func() time.Time
}

// NewKeyed returns a keyed gauge that reads lines from r. parse finds the
// values of a line; those without a unit are in unit. now stamps the readings.
func NewKeyed(label, unit string, r io.Reader, parse func(line string) ([]frame.KeyedValue, error), now func() time.Time) *Keyed {
	return &Keyed{label: label, unit: unit, r: r, parse: parse, now: now}
}

// Run sends a reading for every value of every line and an EventGarbled for every
// line that has none and is not empty, then EventEnd at the end of the input.
// It returns nil when ctx ends or the input does, and never closes out. A
// Read of the input that blocks is left to end by itself.
func (k *Keyed) Run(ctx context.Context, out chan<- Event) error {
	lines := make(chan typed)
	fail := make(chan error, 1)
	go func() { fail <- k.scan(ctx, lines) }()
	send := func(ev Event) {
		ev.Time, ev.Gauge = k.now(), k.label
		ev.Reading.Time = ev.Time // one moment: a replay knows no other
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
	text   string
	cut    bool
	number int
}

// scan reads lines to the end of the input. It is a goroutine of its own, for
// a Read of a terminal ends with a line and not with the context.
func (k *Keyed) scan(ctx context.Context, lines chan<- typed) error {
	var cut *frame.LineCutter
	cut = frame.NewLineCutter(frame.DefaultMaxLength, func(line []byte, tooLong bool) {
		number := cut.Number()
		if number == 1 { // some editors put a byte order mark in front of a file
			line = bytes.TrimPrefix(line, []byte("\ufeff"))
		}
		select {
		case lines <- typed{string(line), tooLong, number}:
		case <-ctx.Done():
		}
	})
	buf := make([]byte, readSize)
	for ctx.Err() == nil {
		n, err := k.r.Read(buf)
		cut.Feed(buf[:n])
		if errors.Is(err, io.EOF) {
			cut.Flush()
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
		const shown = 40 // enough to know it by
		send(Event{Kind: EventGarbled, Line: line.number, Text: fmt.Sprintf("line too long: %q...", line.text[:shown])})
		return
	}
	text := strings.Trim(line.text, " \t")
	if len(text) == 0 {
		return
	}
	values, err := k.parse(text)
	if err != nil {
		send(Event{Kind: EventGarbled, Line: line.number, Text: fmt.Sprintf("%q: %v", line.text, err)})
		return
	}
	for _, v := range values {
		r := Reading{Gauge: k.label, Raw: line.text, Value: v.Value, Unit: cmp.Or(v.Unit, k.unit)}
		send(Event{Kind: EventReading, Line: line.number, Reading: r})
	}
}
