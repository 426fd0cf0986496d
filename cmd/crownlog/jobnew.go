package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/sheet"
)

type jobNewCmd struct {
	Dir     string `arg:"" help:"Folder to make; it may exist when it is empty."`
	Example bool   `help:"Fill it with the invented example."`
	Like    string `help:"Copy the sheet of another job, but for its vehicle; its windows wait to be confirmed for this one." placeholder:"JOB"`
	sheet.Params
}

// Run makes the folder from the flags, or without any from the answers to a few
// questions.
func (c *jobNewCmd) Run(con *console) error {
	if err := journal.CanCreate(c.Dir); err != nil {
		return err
	}
	text := sheet.ExampleTOML()
	if !c.Example {
		var err error
		if text, err = c.sheet(con); err != nil {
			return err
		}
	}
	folder, err := job.Create(c.Dir, text)
	if err != nil {
		return err
	}
	findings := job.CheckSheet(folder.Sheet())
	if err := folder.Close(); err != nil {
		return err
	}
	for _, f := range findings {
		con.say("%s", findingLine(f))
	}
	fmt.Fprintln(con.out, filepath.Join(c.Dir, "job.toml"))
	if err := os.Remove(answersFile(c.Dir)); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// sheet writes the job sheet. Its mistakes are told by key, for it is no file yet.
func (c *jobNewCmd) sheet(con *console) ([]byte, error) {
	if c.Like != "" {
		return c.like(con)
	}
	if c.Label == "" && c.PinionTeeth == 0 && c.WheelTeeth == 0 && c.Upper == 0 && c.WheelDiameterMM == 0 {
		if err := c.ask(con, len(questions)); err != nil {
			return nil, err
		}
	}
	text, err := sheet.NewTOML(c.Params)
	if err != nil {
		return nil, fmt.Errorf("job new: %w", err)
	}
	return text, nil
}

// like copies the sheet of another job. Only whose file it is can be set by flags.
func (c *jobNewCmd) like(con *console) ([]byte, error) {
	rest := c.Params
	rest.Vehicle = sheet.Vehicle{}
	if rest != sheet.UsualParams() {
		return nil, usagef("change the rest in job.toml", "--like goes with --vehicle, --job, --axle, --odometer and --operator only")
	}
	snap, err := readJob(c.Like)
	if err != nil {
		return nil, err
	}
	if c.Label == "" {
		if err := c.ask(con, 1); err != nil {
			return nil, err
		}
	}
	text, err := os.ReadFile(filepath.Join(c.Like, journal.SheetFile))
	if err != nil {
		return nil, err
	}
	con.say("copied from %s (%s): its windows wait to be confirmed for this vehicle", c.Like, snap.Sheet.Vehicle.Label)
	return sheet.Like(text, c.Vehicle)
}
