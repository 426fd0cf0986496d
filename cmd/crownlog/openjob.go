package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"crownlog/logger"
)

// addCapture opens the job, writes one capture at the stage named, or at the one
// the job is at, and says its number.
func addCapture(con *console, dir, stage string, write func(f *logger.JobFolder, stage string) (logger.Capture, error)) error {
	folder, err := openJob(con, dir)
	if err != nil {
		return err
	}
	job := logger.Job{Sheet: folder.Sheet(), Captures: folder.Captures()}
	if stage == "" {
		stage = job.At()
	}
	var c logger.Capture
	if stages := job.Sheet.StageList(); slices.Contains(stages, stage) {
		c, err = write(folder, stage)
	} else {
		err = usagef("one of "+strings.Join(stages, ", "), "no stage %q in the job sheet", stage)
	}
	if err == nil {
		fmt.Fprintf(con.out, "recorded %s at %s as number %d\n", c.Feature, c.Stage, c.ID)
		_, err = logger.WriteRecord(folder.Dir(), folder.Sheet(), folder.Captures())
	}
	return errors.Join(err, folder.Close())
}

// openJob opens a job folder for writing and reports a torn last line.
func openJob(con *console, dir string) (*logger.JobFolder, error) {
	folder, err := logger.OpenJob(dir)
	if err != nil {
		return nil, jobError(dir, err)
	}
	if torn := folder.Torn(); torn != "" {
		con.say("the last line of %s was cut short and is set aside in captures.csv.torn: %q", dir, torn)
	}
	return folder, nil
}

// readJob reads a job folder without locking it.
func readJob(dir string) (*logger.JobSnapshot, error) {
	snap, err := logger.ReadJob(dir)
	if err != nil {
		return nil, jobError(dir, err)
	}
	return snap, nil
}

// jobError adds what to do about a job folder that does not open.
func jobError(dir string, err error) error {
	switch {
	case errors.Is(err, logger.ErrNotJobFolder):
		return usagef("crownlog job new "+dir+" makes one", "%w", err)
	case errors.Is(err, logger.ErrFolderInUse):
		return usagef("close the crownlog that is writing to it", "%w", err)
	}
	return err
}
