package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"crownlog/logger/export"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// A signer is the flag of each verb that writes what a person says.
type signer struct {
	By string `help:"Who enters it, for the record. Default: the operator in job.toml." placeholder:"NAME"`
}

// A jobWriter is what each verb takes that only writes to a job.
type jobWriter struct {
	Job string `arg:"" help:"Job folder."`
	signer
}

// withJob opens the job folder for writing and does what changes it, in the name
// of by where that is given. record.csv is written anew after that, with news that
// are not good too, and where an error came after something was stored.
func withJob(con *console, by, dir string, do func(*job.Folder) error) error {
	folder, err := job.Open(dir)
	if err != nil {
		return err
	}
	if torn := folder.Torn(); torn != "" {
		con.say("the last line of %s was cut short and is set aside in captures.csv.torn: %q", dir, torn)
	}
	if by != "" {
		folder.Sign(by)
	}
	before := len(folder.Captures())
	if err = do(folder); err == nil || errors.Is(err, errOutside) || len(folder.Captures()) > before {
		_, recordErr := export.WriteRecord(folder.Dir(), folder.Sheet(), folder.Captures())
		err = errors.Join(err, recordErr)
	}
	return errors.Join(err, folder.Close())
}

// addCapture writes one capture into the job at the stage named, or at the one
// the job is at, and says its number.
func addCapture(con *console, by, dir, stage string, write func(f *job.Folder, stage string) (record.Capture, error)) error {
	return withJob(con, by, dir, func(f *job.Folder) error {
		job := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}
		if stage == "" {
			stage = job.At()
		}
		if stages := job.Sheet.StageList(); !slices.Contains(stages, stage) {
			return usagef("one of "+strings.Join(stages, ", "), "no stage %q in job.toml", stage)
		}
		c, err := write(f, stage)
		if err == nil {
			fmt.Fprintf(con.out, "recorded %s at %s as number %d\n", c.Feature, c.Stage, c.ID)
		}
		return err
	})
}
