package main

import (
	"fmt"
	"math"
	"strings"
	"time"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

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
