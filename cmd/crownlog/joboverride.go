package main

import (
	"strings"
	"time"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

type jobOverrideCmd struct {
	Job    string `arg:"" help:"Job folder."`
	Hold   string `arg:"" help:"Name of the hold point, as job show prints it."`
	Reason string `arg:"" help:"Why it is skipped, in some words."`
	Stage  string `help:"Stage of the job. Default: the one it is at."`
	signer
}

// Run records that a hold point that exists is skipped.
func (c *jobOverrideCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		var names []string
		for _, h := range job.HoldPoints(f.Sheet(), f.Captures()) {
			if h.Name == c.Hold {
				return record.AddOverride(f, stage, c.Hold, c.Reason, time.Now())
			}
			names = append(names, h.Name)
		}
		return record.Capture{}, usagef("one of "+strings.Join(names, ", "), "no hold point %q", c.Hold)
	})
}
