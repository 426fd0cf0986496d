package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

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
	return forget(c.Dir)
}

// sheet writes the job sheet; its mistakes are told by flag.
func (c *jobNewCmd) sheet(con *console) ([]byte, error) {
	if c.Like != "" {
		return c.like(con)
	}
	if c.Vehicle == "" && c.PinionTeeth == 0 && c.WheelTeeth == 0 && c.Upper == 0 && c.WheelDiameterMM == 0 {
		if err := c.ask(con, questions); err != nil {
			return nil, err
		}
	}
	text, err := sheet.NewTOML(c.Params)
	var all []error
	for _, m := range mistakes(c.Params, err) {
		all = append(all, usagef("", "%s", m.flag+": "+m.text))
	}
	return text, errors.Join(all...)
}

// like copies the sheet of another job. Only whose file it is can be set by flags.
func (c *jobNewCmd) like(con *console) ([]byte, error) {
	own := sheet.Vehicle{Label: c.Vehicle, Job: c.Job, Axle: c.Axle, Odometer: c.Odometer, Operator: c.Operator}
	rest := c.Params
	rest.Vehicle, rest.Job, rest.Axle, rest.Odometer, rest.Operator = "", "", "", "", ""
	if rest != sheet.UsualParams() {
		return nil, usagef("change the rest in job.toml", "--like goes with --vehicle, --job, --axle, --odometer and --operator only")
	}
	snap, err := readJob(c.Like)
	if err != nil {
		return nil, err
	}
	if own.Label == "" {
		if err := c.ask(con, questions[:1]); err != nil {
			return nil, err
		}
		own.Label = c.Vehicle
	}
	text, err := os.ReadFile(filepath.Join(c.Like, journal.SheetFile))
	if err != nil {
		return nil, err
	}
	con.say("copied from %s (%s): its windows wait to be confirmed for this vehicle", c.Like, snap.Sheet.Vehicle.Label)
	return sheet.Like(text, own)
}

// A flagMistake is what is wrong with the value of a flag.
type flagMistake struct{ flag, text string }

// sheetFlags are the flags behind the keys of a new sheet.
var sheetFlags = map[string]string{
	"vehicle.label": "--vehicle", "gear_set.pinion_teeth": "--pinion-teeth", "gear_set.wheel_teeth": "--wheel-teeth",
	"gear_set.wheel_diameter_mm": "--wheel-diameter", "plunger.heel_radius_mm": "--heel-radius", "positions": "--positions",
	"window.lower": "--lower", "window.upper": "--upper", "window.unit": "--unit", "gauge.resolution_mm": "--resolution",
	"adjuster.pitch_mm": "--pitch", "adjuster.notches": "--notches",
	"bolts": "--bolts", "bolts.count": "--bolts", "bolts.target": "--bolts", "bolts.unit": "--bolts", "caps": "--caps",
}

// mistakes finds what is missing, and turns the mistakes of the sheet into
// those of the flags they came from. One is enough for a flag.
func mistakes(p sheet.Params, err error) []flagMistake {
	var wrong []flagMistake
	add := func(flag, text string) {
		if !slices.ContainsFunc(wrong, func(m flagMistake) bool { return m.flag == flag }) {
			wrong = append(wrong, flagMistake{flag, text})
		}
	}
	for _, m := range []struct {
		wrong      bool
		flag, text string
	}{
		{strings.TrimSpace(p.Vehicle) == "", "--vehicle", "missing; give any name of your own, or give --example"},
		{p.Lower == 0 && p.Upper == 0 && p.WheelDiameterMM == 0, "--upper", "missing; give --lower and --upper from the manual, or --wheel-diameter for the usual window"},
		{p.Lower > 0 && p.Upper == 0, "--upper", "missing; --lower is given"},
		{p.Upper > 0 && p.Lower >= p.Upper, "--upper", fmt.Sprintf("%v is not above --lower %v", p.Upper, p.Lower)},
	} {
		if m.wrong {
			add(m.flag, m.text)
		}
	}
	for _, e := range parts(err) {
		var se *sheet.Error
		if !errors.As(e, &se) {
			if len(wrong) == 0 {
				add("job new", e.Error())
			}
			continue
		}
		flag := cmp.Or(sheetFlags[se.Key], se.Key)
		if strings.Contains(se.Text, "is not below upper") {
			flag = "--upper"
		}
		add(flag, se.Text)
	}
	return wrong
}
