package main

import (
	"fmt"
	"strings"

	"crownlog/logger/job"
)

type jobShowCmd struct {
	Job  string `arg:"" help:"Job folder."`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

// A jobView is a job as job show --json prints it.
type jobView struct {
	Vehicle  string          `json:"vehicle"`
	Job      string          `json:"job"`
	Axle     string          `json:"axle"`
	Invented bool            `json:"invented"`
	Captures int             `json:"captures"`
	Steps    []stepView      `json:"steps"`
	Holds    []job.HoldPoint `json:"hold_points"`
	Next     *stepView       `json:"next"`
	Torn     string          `json:"torn"`
}

type stepView struct {
	Stage     string `json:"stage"`
	Feature   string `json:"feature"`
	Title     string `json:"title"`
	Done      bool   `json:"done"`
	Verdict   string `json:"verdict"`
	Optional  bool   `json:"optional"`
	Missed    bool   `json:"missed"` // not measured as found, and no longer possible
	Measured  int    `json:"measured"`
	Positions int    `json:"positions"`
}

// Run shows the job.
func (c *jobShowCmd) Run(con *console) error {
	snap, err := readJob(c.Job)
	if err != nil {
		return err
	}
	v := newJobView(snap)
	if c.JSON {
		return con.json(v)
	}
	printJob(con, v)
	sayTorn(con, snap)
	return nil
}

func newJobView(snap *job.Snapshot) jobView {
	j := job.Job{Sheet: snap.Sheet, Captures: snap.Captures}
	v := jobView{
		Vehicle: snap.Sheet.Vehicle.Label, Job: snap.Sheet.Vehicle.Job, Axle: snap.Sheet.Vehicle.Axle,
		Invented: snap.Sheet.Invented, Captures: len(snap.Captures), Torn: snap.Torn,
		Steps: []stepView{}, Holds: append([]job.HoldPoint{}, job.HoldPoints(snap.Sheet, snap.Captures)...),
	}
	for _, s := range j.Steps() {
		v.Steps = append(v.Steps, newStepView(s))
	}
	if next, ok := j.Next(); ok {
		s := newStepView(next)
		v.Next = &s
	}
	return v
}

func newStepView(s job.Step) stepView {
	return stepView{Stage: s.Stage, Feature: s.Feature, Title: s.Title, Done: s.Complete,
		Verdict: s.Verdict.String(), Optional: s.Optional, Missed: s.Missed, Measured: s.Measured, Positions: s.Needed}
}

func printJob(con *console, v jobView) {
	title := strings.Join(strings.Fields(v.Vehicle+" "+v.Axle+" "+v.Job), " ")
	if v.Invented {
		title += " (invented data)"
	}
	fmt.Fprintln(con.out, title)
	var rows [][]string
	for _, s := range v.Steps {
		state := "to do"
		switch {
		case s.Done:
			state = s.Verdict
		case s.Measured > 0:
			state = fmt.Sprintf("%d of %d, %s", s.Measured, s.Positions, s.Verdict)
		case s.Missed:
			state = "missed"
		case s.Optional:
			state = "optional"
		}
		rows = append(rows, []string{"  " + s.Stage, s.Feature, state, s.Title})
	}
	printTable(con.out, rows)
	for _, h := range v.Holds {
		if h.Blocking {
			fmt.Fprintf(con.out, "HOLD before %s (%s): %s\n", h.Before, h.Name, h.Reason)
		}
		if h.Overridden != "" {
			fmt.Fprintf(con.out, "overridden %s: %s\n", h.Name, h.Overridden)
		}
	}
	if v.Next != nil {
		fmt.Fprintf(con.out, "next: %s (--stage %s --feature %s)\n", v.Next.Title, v.Next.Stage, v.Next.Feature)
	}
}

// sayTorn tells of an unfinished last line, which counts for nothing.
func sayTorn(con *console, snap *job.Snapshot) {
	if snap.Torn != "" {
		con.say("the last line of captures.csv was cut short: %q; the next writer sets it aside", snap.Torn)
	}
}
