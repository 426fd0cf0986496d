package main

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/journal"
)

// readRecording reads a readings file to its end, so that nothing of a damaged
// one is used.
func readRecording(path string) ([]device.Event, error) {
	var events []device.Event
	for ev, err := range journal.ReadReadings(path) {
		if err != nil {
			return nil, err
		}
		events = append(events, ev)
	}
	return events, nil
}

// spans says whether events were being recorded at a time.
func spans(events []device.Event, at time.Time) bool {
	return slices.ContainsFunc(events, func(ev device.Event) bool { return !ev.Time.After(at) }) &&
		slices.ContainsFunc(events, func(ev device.Event) bool { return !ev.Time.Before(at) })
}

// recordingOf is the recording in which a capture of that time was made, nil
// where there is none; then the error names those that cannot be read.
func recordingOf(snap *job.Snapshot, stage, feature string, at time.Time) ([]device.Event, error) {
	var damaged []error
	for _, path := range snap.Readings {
		if round, _ := journal.ReadingsRound(path); round != stage+"-"+feature {
			continue
		}
		events, err := readRecording(path)
		if spans(events, at) {
			return events, nil
		}
		damaged = append(damaged, err)
	}
	return nil, errors.Join(damaged...)
}

// roundName is the name a readings file goes by.
func roundName(path string) string { return strings.TrimSuffix(filepath.Base(path), ".csv") }

// A player is a source that plays a recording.
type player struct {
	events []device.Event
	pace   float64 // recorded seconds a second; 0: no waiting
}

// Run sends the recorded events in order and then the end.
func (p player) Run(ctx context.Context, out chan<- device.Event) error {
	var last device.Event
	for _, ev := range p.events {
		if !p.waitFor(ctx, last, ev) || !send(ctx, out, ev) {
			return nil
		}
		last = ev
	}
	if last.Kind != device.EventEnd {
		send(ctx, out, device.Event{Kind: device.EventEnd, Time: last.Time, Gauge: last.Gauge, Text: "end of the recorded readings"})
	}
	return nil
}

// waitFor keeps the recorded distance between two events; false when ctx ended.
func (p player) waitFor(ctx context.Context, last, ev device.Event) bool {
	if p.pace == 0 || last.Time.IsZero() {
		return ctx.Err() == nil
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(time.Duration(float64(ev.Time.Sub(last.Time)) / p.pace)):
		return true
	}
}

func send(ctx context.Context, out chan<- device.Event, ev device.Event) bool {
	select {
	case out <- ev:
		return true
	case <-ctx.Done():
		return false
	}
}
