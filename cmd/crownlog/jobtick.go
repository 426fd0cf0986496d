package main

import (
	"bufio"
	"fmt"
	"strings"
	"time"

	"crownlog/logger/job"
	"crownlog/logger/sheet"
)

type jobTickCmd struct {
	Job   string   `arg:"" help:"Job folder."`
	Names []string `arg:"" help:"What was seen to, by the names that job show prints."`
	Photo string   `help:"Photo to copy in with it." placeholder:"FILE"`
	Note  string   `help:"Anything worth keeping; of copied windows the page of this vehicle's manual."`
	signer
}

// Run records the ticks, all or none, and the photo in front of them.
func (c *jobTickCmd) Run(con *console) error {
	return withJob(con, c.By, c.Job, func(f *job.Folder) error {
		var checks []job.Check
		for _, name := range c.Names {
			check, err := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.Check(name)
			if err != nil {
				return usagef("", "%w", err)
			}
			checks = append(checks, check)
		}
		if c.Photo != "" {
			if _, err := f.Attach(checks[0].Stage, c.Photo, strings.Join(c.Names, ", "), time.Now()); err != nil {
				return err
			}
		}
		for _, check := range checks {
			done, err := check.TickOff(f, c.Note, time.Now())
			if err != nil {
				return err
			}
			fmt.Fprintf(con.out, "ticked %s as number %d: %s\n", check.Name, done.ID, done.Note)
		}
		return nil
	})
}

// confirmCopied asks whether windows that were copied from another vehicle are those
// of this one. Without an answer they stay a hold point.
func confirmCopied(con *console, f *job.Folder) error {
	check, err := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.Check(sheet.CheckCopied)
	if err != nil || check.Tick.ID > 0 || !con.asks() {
		return nil
	}
	for _, w := range f.Sheet().Windows {
		fmt.Fprintf(con.err, "  %s: %s (%s)\n", w.Feature, w.LimitsAs("at least ", "at most ", " "+w.Unit), w.Source)
	}
	fmt.Fprint(con.err, "These and the torques are copied from another vehicle. Confirmed for this one? Type the page of its manual (Enter: not yet): ")
	line, _ := bufio.NewReader(con.stdin()).ReadString('\n')
	if strings.TrimSpace(line) != "" {
		_, err = check.TickOff(f, line, time.Now())
	}
	return err
}
