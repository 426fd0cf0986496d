package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"crownlog/logger/export"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// addCapture opens the job, writes one capture at the stage named, or at the one
// the job is at, and says its number.
func addCapture(con *console, dir, stage string, write func(f *job.Folder, stage string) (record.Capture, error)) error {
	folder, err := openJob(con, dir)
	if err != nil {
		return err
	}
	job := job.Job{Sheet: folder.Sheet(), Captures: folder.Captures()}
	if stage == "" {
		stage = job.At()
	}
	var c record.Capture
	if stages := job.Sheet.StageList(); slices.Contains(stages, stage) {
		c, err = write(folder, stage)
	} else {
		err = usagef("one of "+strings.Join(stages, ", "), "no stage %q in the job sheet", stage)
	}
	if err == nil {
		fmt.Fprintf(con.out, "recorded %s at %s as number %d\n", c.Feature, c.Stage, c.ID)
		_, err = export.WriteRecord(folder.Dir(), folder.Sheet(), folder.Captures())
	}
	return errors.Join(err, folder.Close())
}

// openJob opens a job folder for writing and reports a torn last line.
func openJob(con *console, dir string) (*job.Folder, error) {
	folder, err := job.Open(dir)
	if err != nil {
		return nil, jobError(dir, err)
	}
	if torn := folder.Torn(); torn != "" {
		con.say("the last line of %s was cut short and is set aside in captures.csv.torn: %q", dir, torn)
	}
	return folder, nil
}

// readJob reads a job folder without locking it.
func readJob(dir string) (*job.Snapshot, error) {
	snap, err := job.Read(dir)
	if err != nil {
		return nil, jobError(dir, err)
	}
	return snap, nil
}

// jobError adds what to do about a job folder that does not open.
func jobError(dir string, err error) error {
	switch {
	case errors.Is(err, journal.ErrNotJobFolder):
		return usagef("crownlog job new "+dir+" makes one", "%w", err)
	case errors.Is(err, journal.ErrFolderInUse):
		return usagef("close the crownlog that is writing to it", "%w", err)
	}
	return err
}
