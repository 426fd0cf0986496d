package main

import (
	"time"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

type jobNoteCmd struct {
	Job   string `arg:"" help:"Job folder."`
	Text  string `arg:"" help:"The note."`
	Stage string `help:"Stage of the job. Default: the one it is at."`
	signer
}

// Run records the note.
func (c *jobNoteCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		return record.AddNote(f, stage, c.Text, time.Now())
	})
}
