package main

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"time"

	"crownlog/logger/export"
	"crownlog/logger/record"
)

type jobUndoCmd struct {
	Job    string `arg:"" help:"Job folder."`
	Number int    `arg:"" help:"Number of the capture, move, note, override or attachment, the first cell of its line in captures.csv."`
}

// Run adds a line that takes the capture back; nothing is erased.
func (c *jobUndoCmd) Run(con *console) error {
	folder, err := openJob(con, c.Job)
	if err != nil {
		return err
	}
	was, err := record.Reject(folder, c.Number, time.Now())
	switch {
	case err != nil:
		err = usagef("the numbers are in the first column of captures.csv", "%w", err)
	default:
		fmt.Fprintf(con.out, "undone: number %d, %s\n", was.ID, captureWords(was))
		_, err = export.WriteRecord(folder.Dir(), folder.Sheet(), folder.Captures())
	}
	return errors.Join(err, folder.Close())
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
