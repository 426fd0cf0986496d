package main

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

type jobShowCmd struct {
	Job  string `arg:"" help:"Job folder."`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

// Run shows the job.
func (c *jobShowCmd) Run(con *console) error {
	snap, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	j := job.Job{Sheet: snap.Sheet, Captures: snap.Captures}
	d := report.Build(snap.Sheet, snap.Captures, time.Now())
	if c.JSON {
		return con.json(jobObject(snap, j, d))
	}
	printJob(con, j, d)
	sayTorn(con, snap)
	return nil
}

// jobObject is a job as job show --json prints it.
func jobObject(snap *job.Snapshot, j job.Job, d report.Data) report.Object {
	var next any // null where nothing is left
	if s, ok := j.Next(); ok {
		next = stepObject(s)
	}
	checks := report.Each(j.Checks(), func(k job.Check) report.Object {
		return report.Object{{"name", k.Name}, {"stage", k.Stage}, {"what", k.What}, {"required", k.Required}, {"done", k.Tick.ID > 0}}
	})
	v := snap.Sheet.Vehicle
	return report.Object{
		{"vehicle", v.Label}, {"job", v.Job}, {"axle", v.Axle}, {"invented", snap.Sheet.Invented}, {"captures", len(snap.Captures)},
		{"steps", report.Each(j.Steps(), stepObject)}, {"checks", checks}, {"hold_points", append([]job.HoldPoint{}, d.Holds...)},
		{"next", next}, {"torn", snap.Torn}, {"headline", d.Headline}, {"repeated", report.Repeated(d)},
	}
}

func stepObject(s job.Step) report.Object {
	return report.Object{
		{"stage", s.Stage}, {"feature", s.Feature}, {"title", s.Title}, {"done", s.Complete}, {"verdict", s.Verdict},
		{"optional", s.Optional}, {"missed", s.Missed}, {"skipped", s.Skipped}, {"measured", s.Measured}, {"positions", s.Needed},
	}
}

func printJob(con *console, j job.Job, d report.Data) {
	v := j.Sheet.Vehicle
	title := strings.Join(strings.Fields(v.Label+" "+v.Axle+" "+v.Job), " ")
	fmt.Fprintln(con.out, title+words.Given(j.Sheet.Invented, " (invented data)"))
	var rows [][]string
	for _, s := range j.Steps() {
		state := "to do"
		switch {
		case s.Skipped != "" && s.Complete:
			state = "skipped, " + s.Verdict.String()
		case s.Skipped != "":
			state = "skipped"
		case s.Complete:
			state = s.Verdict.String()
		case s.Measured > 0:
			state = fmt.Sprintf("%d of %d, %s", s.Measured, s.Needed, s.Verdict)
		case s.Missed:
			state = "missed"
		case s.Optional:
			state = "optional"
		}
		rows = append(rows, []string{"  " + s.Stage, s.Feature, state, s.Title})
	}
	for _, k := range j.Checks() {
		state := map[bool]string{true: "to do", false: "optional"}[k.Required]
		if k.Tick.ID > 0 {
			state, k.What = "ticked", k.Tick.Note
		}
		rows = append(rows, []string{"  " + k.Stage, k.Name, state, k.What})
	}
	printTable(con.out, rows)
	next, left := j.Next()
	for _, h := range job.InTheWay(d.Holds, next) {
		fmt.Fprintf(con.out, "HOLD before %s (%s): %s\n", h.Before, h.Name, h.Reason)
	}
	for _, h := range d.Holds {
		if h.Skipped != "" {
			fmt.Fprintf(con.out, "SKIPPED %s: %s\n", h.Name, h.Skipped)
		}
	}
	for _, r := range d.Repeats {
		fmt.Fprintf(con.out, "REPEATED %s, %s: %s\n", record.Title(r.Feature), r.Stage, r.Text)
	}
	fmt.Fprintln(con.out, d.Headline)
	if i := slices.IndexFunc(next.Hold, job.HoldPoint.NotDone); i >= 0 && len(next.Hold) == 1 {
		fmt.Fprintf(con.out, "next: what the %s holds: crownlog job tick JOB NAME\n", strings.ReplaceAll(next.Hold[i].Name, "-", " "))
	} else if left {
		fmt.Fprintf(con.out, "next: %s (--stage %s --feature %s)\n", next.Title, next.Stage, next.Feature)
	}
}

// sayTorn tells of an unfinished last line, which counts for nothing.
func sayTorn(con *console, snap *job.Snapshot) {
	if snap.Torn != "" {
		con.say("the last line of captures.csv was cut short: %q; the next writer sets it aside", snap.Torn)
	}
}
