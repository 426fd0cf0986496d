package main

import (
	"time"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

type jobAimCmd struct {
	Job string `arg:"" help:"Job folder."`
	Aim string `arg:"" help:"What the backlash is set to: as-found, the mean it was found with, or window, the entered one. The verdicts stay those of the window." enum:"as-found,window"`
	Why string `help:"Why, in some words." required:"" placeholder:"REASON"`
	signer
}

// Run records the decision, which clears the hold point that asks for it.
func (c *jobAimCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, "", func(f *job.Folder, _ string) (record.Capture, error) {
		return job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.DecideAim(f, c.Aim, c.Why, time.Now())
	})
}
