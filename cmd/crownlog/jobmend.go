package main

import (
	"fmt"
	"path/filepath"

	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

type jobMendCmd struct {
	Job      string `arg:"" help:"Job folder."`
	SetAside bool   `help:"Keep the damaged file under another name and go on with the sound lines."`
}

// Run lists what is lost. Only --set-aside changes anything, and the damaged
// file is kept.
func (c *jobMendCmd) Run(con *console) error {
	look := job.ExamineJob
	if c.SetAside {
		look = job.SetJobAside
	}
	m, err := look(c.Job)
	if err != nil {
		return jobError(c.Job, err)
	}
	printMending(con, m)
	if !c.SetAside {
		return &hinted{code: exitRecord, err: fmt.Errorf("%s: the record is damaged; nothing was changed", m.Path),
			hint: "crownlog job mend " + c.Job + " --set-aside keeps this file as it is under another name and goes on with the sound lines"}
	}
	fmt.Fprintf(con.out, "the damaged file is kept as %s\n", m.KeptAs)
	return withJob(con, "", c.Job, func(*job.Folder) error { return nil }) // for its record.csv
}

func printMending(con *console, m journal.Repair) {
	fmt.Fprintf(con.out, "%s: %s sound\n", filepath.Base(m.Path), count(m.Sound, "capture"))
	for _, l := range m.Lost {
		fmt.Fprintf(con.out, "line %d is lost, %s: %q\n", l.Line, l.Reason, l.Text)
	}
	for _, c := range m.Captures {
		switch {
		case c.Quality != record.QualityLost:
		case c.Feature == record.FeatureMove:
			fmt.Fprintf(con.out, "number %d may have been an adjuster move: backlash and pattern before it, but as found, are to be measured again; job undo %d if it was none\n", c.ID, c.ID)
		default:
			fmt.Fprintf(con.out, "number %d is left out\n", c.ID)
		}
	}
}
