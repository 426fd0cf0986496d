package main

import (
	"time"

	"crownlog/logger/report"
)

type compareCmd struct {
	Job  string `arg:"" help:"Job folder."`
	JSON bool   `name:"json" help:"Print the changes as JSON."`
}

// Run says how the backlash changed from each stage to the next, and where by
// more than its uncertainty.
func (c *compareCmd) Run(con *console) error {
	snap, err := readJob(c.Job)
	if err != nil {
		return err
	}
	d := report.Build(snap.Sheet, snap.Captures, time.Now())
	write := report.WriteChanges
	if c.JSON {
		write = report.ChangesJSON
	}
	if err := write(con.out, d); err != nil {
		return err
	}
	if len(d.Changes) == 0 {
		con.say("backlash is measured in fewer than two stages: nothing to compare yet")
		return errOutside
	}
	return nil
}
