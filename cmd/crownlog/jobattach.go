package main

import (
	"time"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

type jobAttachCmd struct {
	Job   string `arg:"" help:"Job folder."`
	File  string `arg:"" help:"Photo or document to copy in."`
	Note  string `help:"What it shows."`
	Stage string `help:"Stage of the job. Default: the one it is at."`
	signer
}

// Run copies the file in.
func (c *jobAttachCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		return f.Attach(stage, c.File, c.Note, time.Now())
	})
}
