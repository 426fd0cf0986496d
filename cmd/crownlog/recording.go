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
	events []device.Event // one at least
	pace   float64        // recorded seconds a second; 0: no waiting
}

// Run sends the recorded events in order, at their recorded distance, and then the
// end.
func (p player) Run(ctx context.Context, out chan<- device.Event) error {
	events := p.events
	if last := events[len(events)-1]; last.Kind != device.EventEnd {
		events = append(slices.Clip(events), device.Event{Kind: device.EventEnd, Time: last.Time, Gauge: last.Gauge, Text: "end of the recorded readings"})
	}
	at := events[0].Time
	for _, ev := range events {
		if p.pace > 0 {
			select {
			case <-ctx.Done():
			case <-time.After(time.Duration(float64(ev.Time.Sub(at)) / p.pace)):
			}
			at = ev.Time
		}
		if ctx.Err() != nil {
			return nil
		}
		select {
		case out <- ev:
		case <-ctx.Done():
		}
	}
	return nil
}
