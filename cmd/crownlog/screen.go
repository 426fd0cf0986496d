package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"crownlog/analysis/setup"
	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// withScreen shows the views of hub on the dashboard while body runs beside it.
// Quitting the dashboard ends body's context; body's return ends the dashboard.
// src brings what the hub does not have: the job, a way to pass a hold point.
func withScreen(ctx context.Context, hub *live.Hub, src dashboard.Source, body func(context.Context) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	wake, forget := hub.Watch()
	defer forget()
	src.Latest, src.Wake, src.Command, src.NoColor = hub.Latest, wake, hub.Command, noColor()
	result := make(chan error, 1)
	go func() {
		defer cancel()
		result <- live.Caught(func() error { return body(ctx) })
	}()
	screenErr := dashboard.Run(ctx, nil, src)
	if screenErr != nil {
		screenErr = usagef("give --no-screen for plain lines", "%w", screenErr)
	}
	cancel()
	return errors.Join(screenErr, <-result)
}

// jobSource is the job as it stands, with what is on record of a contact pattern.
func jobSource(folder *job.Folder) dashboard.Source {
	// Worked out anew with each capture only: 5 ms on a whole job, and the view is
	// asked for at each paint.
	var view dashboard.JobView
	known := -1
	return dashboard.Source{
		Job: func() dashboard.JobView {
			sheet, captures := folder.Sheet(), folder.Captures()
			if len(captures) != known {
				known = len(captures)
				view = dashboard.JobView{
					Steps: job.Job{Sheet: sheet, Captures: captures}.Steps(),
					Holds: job.HoldPoints(sheet, captures), Attached: attached(folder.Dir(), captures),
				}
				for _, m := range job.MoveHistory(sheet, captures) {
					view.Moves = append(view.Moves, m.Told(sheet.Length))
				}
			}
			return view
		},
		Pattern: func(stage string) dashboard.PatternEntry {
			contact := func(name string) *setup.Contact {
				if c, ok := feature.PatternOf(folder.Captures(), stage, name); ok {
					return &c
				}
				return nil
			}
			gears := folder.Sheet().GearSet
			return dashboard.PatternEntry{
				Form: gears.ToothForm, PinionFree: gears.PinionDepth == "free",
				Drive: contact(record.FeaturePatternDrive), Coast: contact(record.FeaturePatternCoast),
			}
		},
	}
}

// attached says what each photo or paper of a job shows, and its size.
func attached(dir string, captures []record.Capture) (list []string) {
	for _, c := range record.Active(captures) {
		info, err := os.Stat(filepath.Join(dir, filepath.FromSlash(c.Attachment.Path)))
		if c.Attachment.Path != "" && err == nil {
			list = append(list, fmt.Sprintf("%s, %.2f MB", cmp.Or(c.Note, c.Attachment.Path), float64(info.Size())/1e6))
		}
	}
	return list
}

// noColor is what the environment asks of the dashboard (no-color.org).
func noColor() bool { return os.Getenv("NO_COLOR") != "" }
