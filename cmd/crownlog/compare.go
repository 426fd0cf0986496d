package main

import (
	"time"

	"crownlog/analysis"
	"crownlog/logger/job"
	"crownlog/logger/report"
)

type compareCmd struct {
	Job  string `arg:"" help:"Job folder."`
	JSON bool   `name:"json" help:"Print the changes as JSON."`

	SameHand     bool `help:"One hand rocked the wheel in all stages: two thirds of what a hand makes of all positions alike go out of the change."`
	LeftStanding bool `help:"The gauge was not set down anew between the stages: its part and that of its set-up go out."`
}

// Run says how the backlash changed from each stage to the next, and where by
// more than its uncertainty. What is not said to have stayed the same counts as
// another.
func (c *compareCmd) Run(con *console) error {
	snap, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	d := report.Build(snap.Sheet, snap.Captures, time.Now())
	d.Compare(analysis.Same{Hand: c.SameHand, Mounting: c.LeftStanding})
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
