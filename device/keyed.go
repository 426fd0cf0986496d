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
func (k *Keyed) Run(ctx context.Context, out chan<- Event) (err error) {
	typed, fail := make(chan Event), make(chan error, 1)
	go func() { fail <- k.scan(ctx, typed) }()
	for ended := false; !ended; {
		var ev Event
		select {
		case <-ctx.Done():
			return nil
		case ev = <-typed:
		case err = <-fail:
			ev, ended = Event{Kind: EventEnd, Text: "end of the typed values"}, true
		}
		ev.Time, ev.Gauge = k.now(), k.label
		ev.Reading.Time = ev.Time // one moment: a replay knows no other
		select {
		case out <- ev:
		case <-ctx.Done():
		}
	}
	return err
}

// scan reads lines to the end of the input. It is a goroutine of its own, for
// a Read of a terminal ends with a line and not with the context.
func (k *Keyed) scan(ctx context.Context, typed chan<- Event) error {
	var cut *frame.LineCutter
	cut = frame.NewLineCutter(frame.DefaultMaxLength, func(line []byte, tooLong bool) {
		number := cut.Number()
		if number == 1 { // some editors put a byte order mark in front of a file
			line = bytes.TrimPrefix(line, []byte("\ufeff"))
		}
		for _, ev := range k.events(string(line), tooLong) {
			ev.Line = number
			select {
			case typed <- ev:
			case <-ctx.Done():
			}
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

// events is what one line says, or the beginning of one that is too long; a blank
// one says nothing.
func (k *Keyed) events(line string, tooLong bool) (list []Event) {
	const shown = 40 // enough to know a long line by
	if tooLong {
		return []Event{{Kind: EventGarbled, Text: fmt.Sprintf("line too long: %q...", line[:shown])}}
	}
	text := strings.Trim(line, " \t")
	if text == "" {
		return nil
	}
	values, err := k.parse(text)
	if err != nil {
		return []Event{{Kind: EventGarbled, Text: fmt.Sprintf("%q: %v", line, err)}}
	}
	for _, v := range values {
		r := Reading{Gauge: k.label, Raw: line, Value: v.Value, Unit: cmp.Or(v.Unit, k.unit)}
		list = append(list, Event{Kind: EventReading, Reading: r})
	}
	return list
}
