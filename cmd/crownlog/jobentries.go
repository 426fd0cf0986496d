package main

import (
	"fmt"
	"math"
	"strings"
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

type jobUndoCmd struct {
	Job    string `arg:"" help:"Job folder."`
	Number int    `arg:"" help:"Number of the capture, move, note, override or attachment, the first cell of its line in captures.csv."`
	signer
}

// Run adds a line that takes the capture back; nothing is erased.
func (c *jobUndoCmd) Run(con *console) error {
	return withJob(con, c.By, c.Job, func(f *job.Folder) error {
		was, err := record.Reject(f, c.Number, time.Now())
		if err != nil {
			return usagef("the numbers are in the first column of captures.csv", "%w", err)
		}
		fmt.Fprintf(con.out, "undone: number %d, %s\n", was.ID, captureWords(was))
		return nil
	})
}

// captureWords says in a few words what a capture holds.
func captureWords(c record.Capture) string {
	words := record.Title(c.Feature) + ", " + c.Stage
	if c.Position > 0 {
		words += fmt.Sprintf(", position %d", c.Position)
	}
	if !math.IsNaN(c.Value) {
		words += strings.TrimRight(fmt.Sprintf(": %g %s", c.Value, c.Unit), " ")
	}
	if note := c.NoteText(); note != "" {
		words += " (" + note + ")"
	}
	return words
}
