package main

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

type replayCmd struct {
	Job      string  `arg:"" help:"Job folder."`
	Round    string  `arg:"" optional:"" help:"Readings to play, such as as-found-backlash-1; none lists them."`
	Pace     float64 `help:"Recorded seconds a second; 1 is real time, 0 as fast as it goes." default:"0"`
	NoScreen bool    `help:"Print plain lines instead of the dashboard, which shows with a --pace."`
	JSON     bool    `name:"json" help:"Print events as JSON lines; no dashboard."`
}

// Run plays recorded readings through a round that keeps nothing. Keys pressed
// in the recorded round are not part of the readings and are not played.
func (c *replayCmd) Run(ctx context.Context, con *console) error {
	if c.Pace < 0 {
		return usagef("give 0 or more", "--pace %v is less than 0", c.Pace)
	}
	snap, err := readJob(c.Job)
	if err != nil {
		return err
	}
	if c.Round == "" {
		return c.list(con, snap)
	}
	path, stage, feature, err := findReadings(snap, c.Round)
	if err != nil {
		return err
	}
	if err := undamaged(path); err != nil {
		return err
	}
	turned, err := turnTime(snap, path, stage, feature)
	if err != nil {
		return err
	}
	screen := c.Pace > 0 && con.screen() && !c.NoScreen && !c.JSON
	if screen {
		if err := drawable(); err != nil {
			return err
		}
	}
	config := logger.RoundConfig{
		Sheet: snap.Sheet, Stage: stage, Feature: feature, Store: &scratch{}, HandsOff: true, NoKeys: true,
		Keyed: wasKeyed(snap, stage, feature), Continuous: !turned.IsZero(), Override: "replay of a recorded round",
	}
	if !screen {
		config.Listen = plainListener(con, c.JSON)
	}
	round, err := logger.NewRound(config)
	if err != nil {
		return err
	}
	play := live.Config{Round: round, Stay: screen}
	readings := &recorded{path: path, pace: c.Pace, until: turned}
	var out live.Outcome
	if screen {
		play.Hub = live.NewHub()
		err = withScreen(ctx, play.Hub, dashboard.Source{}, func(ctx context.Context) (err error) {
			out, err = live.Measure(ctx, play, readings)
			return err
		})
	} else {
		out, err = live.Measure(ctx, play, readings)
	}
	if err != nil {
		return err
	}
	return conclude(con, out, c.JSON)
}

func (c *replayCmd) list(con *console, snap *job.Snapshot) error {
	names := []string{}
	for _, path := range snap.Readings {
		names = append(names, roundName(path))
	}
	if c.JSON {
		return con.json(names)
	}
	for _, name := range names {
		fmt.Fprintln(con.out, name)
	}
	return nil
}

// roundName is the name a readings file goes by.
func roundName(path string) string { return strings.TrimSuffix(filepath.Base(path), ".csv") }

// findReadings finds the readings file of a round, the newest where only stage
// and feature are named.
func findReadings(snap *job.Snapshot, round string) (path, stage, feature string, err error) {
	name := roundName(round)
	i := slices.IndexFunc(snap.Readings, func(p string) bool { return roundName(p) == name })
	if i < 0 {
		for j, p := range snap.Readings {
			if r, _ := journal.ReadingsRound(p); r == name {
				i = j
			}
		}
	}
	if i < 0 {
		return "", "", "", usagef("crownlog replay "+snap.Dir+" lists them", "no recorded round %q", round)
	}
	name, _ = journal.ReadingsRound(snap.Readings[i])
	for _, f := range record.Features() {
		if s, ok := strings.CutSuffix(name, "-"+f); ok && len(f) > len(feature) {
			stage, feature = s, f
		}
	}
	if feature == "" {
		return "", "", "", fmt.Errorf("readings file %q: no stage and feature in its name", snap.Readings[i])
	}
	return snap.Readings[i], stage, feature, nil
}

// undamaged reads a readings file to its end, so that nothing of a damaged one
// is played.
func undamaged(path string) error {
	for _, err := range journal.ReadReadings(path) {
		if err != nil {
			return err
		}
	}
	return nil
}

func wasKeyed(snap *job.Snapshot, stage, feature string) bool {
	return slices.ContainsFunc(snap.Captures, func(c record.Capture) bool {
		return c.Stage == stage && c.Feature == feature && strings.Contains(c.Quality, "keyed")
	})
}

// turnTime is when the run-out of a readings file was taken as one turn, its
// capture standing for the whole feature; zero where it was not.
func turnTime(snap *job.Snapshot, path, stage, feature string) (time.Time, error) {
	for _, c := range snap.Captures {
		if c.Stage != stage || c.Feature != feature || c.Position != 0 || !strings.HasPrefix(feature, "runout-") {
			continue
		}
		if within, err := spans(path, c.Time); err != nil || within {
			return c.Time, err
		}
	}
	return time.Time{}, nil
}

// recorded is a source that plays a readings file.
type recorded struct {
	path  string
	pace  float64   // recorded seconds a second; 0: no waiting
	until time.Time // when a turn was taken by a key, which is not in the file; zero: play all
}

// Run sends the recorded events in order and then the end.
func (r *recorded) Run(ctx context.Context, out chan<- device.Event) error {
	var last device.Event
	for ev, err := range journal.ReadReadings(r.path) {
		if err != nil {
			return err
		}
		if !r.until.IsZero() && ev.Time.After(r.until) {
			break
		}
		if !r.waitFor(ctx, last, ev) || !send(ctx, out, ev) {
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
func (r *recorded) waitFor(ctx context.Context, last, ev device.Event) bool {
	if r.pace == 0 || last.Time.IsZero() {
		return ctx.Err() == nil
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(time.Duration(float64(ev.Time.Sub(last.Time)) / r.pace)):
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

// scratch is a store that keeps captures for as long as the round lasts.
type scratch struct{ captures []record.Capture }

// Append keeps c under the next number.
func (s *scratch) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(s.captures) + 1
	s.captures = append(s.captures, c)
	return c, nil
}

// Captures returns what was kept.
func (s *scratch) Captures() []record.Capture { return s.captures }
