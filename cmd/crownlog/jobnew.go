package main

import (
	"bufio"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/sheet"
)

type jobNewCmd struct {
	Dir           string  `arg:"" help:"Folder to make; it may exist when it is empty."`
	Example       bool    `help:"Fill it with the invented example."`
	Vehicle       string  `help:"Vehicle: registration, fleet number or any name."`
	Job           string  `help:"Job number or short name."`
	Axle          string  `help:"front, rear, ..."`
	Odometer      string  `help:"As read, with its unit."`
	Operator      string  `help:"Who measures; may stay empty."`
	PinionTeeth   int     `help:"Teeth of the pinion."`
	WheelTeeth    int     `help:"Teeth of the crown wheel."`
	WheelDiameter float64 `help:"Outside diameter of the crown wheel in mm."`
	HeelRadius    float64 `help:"Radius in mm at which the manual's backlash holds."`
	Positions     int     `help:"Places to measure around the wheel; 0: by whole pinion turns."`
	Used          bool    `help:"The gears were run together before and aim at their as-found backlash; --no-used: a new set." default:"true" negatable:""`
	Lower         float64 `help:"Lower limit of the backlash window, in --unit."`
	Upper         float64 `help:"Upper limit of the backlash window, in --unit."`
	Unit          string  `help:"Unit of the window as printed in the manual." default:"mm"`
	Source        string  `help:"Page of the manual the window is from."`
	Resolution    float64 `help:"Resolution of the indicator in mm."`
	Adjuster      string  `help:"threaded or shims." enum:",threaded,shims" default:""`
	Pitch         float64 `help:"Thread pitch of the adjusters in mm."`
	Notches       int     `help:"Notches of an adjuster."`
	Bolts         int     `help:"Bolts of the crown wheel."`
	BoltTorque    float64 `help:"Their final torque in N·m."`
}

// Run makes the folder from the flags, or asks for what matters most.
func (c *jobNewCmd) Run(con *console) error {
	if err := journal.CanCreate(c.Dir); err != nil {
		return err
	}
	sheet := sheet.ExampleTOML()
	if !c.Example {
		if c.Vehicle == "" && c.PinionTeeth == 0 && c.WheelTeeth == 0 && con.asks() {
			if err := c.ask(con); err != nil {
				return err
			}
		}
		var err error
		if sheet, err = c.sheet(); err != nil {
			return err
		}
	}
	folder, err := job.Create(c.Dir, sheet)
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
	return nil
}

// sheet writes the job sheet; its mistakes are told by flag.
func (c *jobNewCmd) sheet() ([]byte, error) {
	sheet, err := sheet.NewTOML(c.params())
	wrong := c.mistakes(err)
	if len(wrong) == 0 {
		return sheet, nil
	}
	var all []error
	for _, m := range wrong {
		all = append(all, usagef("", "%s", m.flag+": "+m.text))
	}
	return nil, errors.Join(all...)
}

// A flagMistake is what is wrong with the value of a flag.
type flagMistake struct{ flag, text string }

// sheetFlags are the flags behind the keys of a new sheet.
var sheetFlags = map[string]string{
	"vehicle.label": "--vehicle", "gear_set.pinion_teeth": "--pinion-teeth", "gear_set.wheel_teeth": "--wheel-teeth",
	"gear_set.wheel_diameter_mm": "--wheel-diameter", "plunger.heel_radius_mm": "--heel-radius", "positions": "--positions",
	"window.lower": "--lower", "window.upper": "--upper", "window.unit": "--unit", "gauge.resolution_mm": "--resolution",
	"adjuster.pitch_mm": "--pitch", "adjuster.notches": "--notches", "bolts.count": "--bolts", "bolts.target": "--bolt-torque",
}

// mistakes finds what is missing, and turns the mistakes of the sheet into
// those of the flags they came from. One is enough for a flag.
func (c *jobNewCmd) mistakes(err error) []flagMistake {
	var wrong []flagMistake
	add := func(flag, text string) {
		if !slices.ContainsFunc(wrong, func(m flagMistake) bool { return m.flag == flag }) {
			wrong = append(wrong, flagMistake{flag, text})
		}
	}
	const orExample = ", or give --example"
	for _, m := range []struct {
		wrong      bool
		flag, text string
	}{
		{strings.TrimSpace(c.Vehicle) == "", "--vehicle", "missing; give any name of your own" + orExample},
		{c.PinionTeeth == 0, "--pinion-teeth", "missing; count them" + orExample},
		{c.WheelTeeth == 0, "--wheel-teeth", "missing; count them" + orExample},
		{c.Lower == 0 && c.Upper == 0 && c.WheelDiameter == 0, "--upper", "missing; give --lower and --upper from the manual, or --wheel-diameter for the usual window"},
		{c.Lower > 0 && c.Upper == 0, "--upper", "missing; --lower is given"},
		{c.Upper > 0 && c.Lower >= c.Upper, "--upper", fmt.Sprintf("%v is not above --lower %v", c.Upper, c.Lower)},
		{c.BoltTorque != 0 && c.Bolts == 0, "--bolts", "missing; --bolt-torque is given"},
		{c.Bolts != 0 && c.BoltTorque == 0, "--bolt-torque", "missing; --bolts is given"},
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
		} else if flag, ok := sheetFlags[se.Key]; ok {
			if flag == "--lower" && strings.Contains(se.Text, "is not below upper") {
				flag = "--upper"
			}
			add(flag, se.Text)
		} else {
			add(se.Key, se.Text)
		}
	}
	return wrong
}

func (c *jobNewCmd) params() sheet.Params {
	return sheet.Params{
		Vehicle: c.Vehicle, Job: c.Job, Axle: c.Axle, Odometer: c.Odometer, Operator: c.Operator,
		PinionTeeth: c.PinionTeeth, WheelTeeth: c.WheelTeeth, WheelDiameterMM: c.WheelDiameter,
		Positions: c.Positions, Used: c.Used,
		Lower: c.Lower, Upper: c.Upper, Unit: c.Unit, Source: c.Source,
		HeelRadiusMM: c.HeelRadius, ResolutionMM: c.Resolution,
		AdjusterKind: c.Adjuster, PitchMM: c.Pitch, Notches: c.Notches,
		Bolts: c.Bolts, BoltTarget: c.BoltTorque,
	}
}

// A question asks for what one flag sets.
type question struct {
	text string
	flag string // "": any answer will do
	to   any    // *string, *int, *float64 or *bool
}

// ask puts the few questions that matter, each until its answer can stand, so
// that no answer is lost to a mistake in a later one. An empty answer keeps
// what is there. It gives up when the run ends.
func (c *jobNewCmd) ask(con *console) error {
	answers := bufio.NewScanner(con.stdin())
	for _, q := range []question{
		{"Vehicle (registration or any name)", "--vehicle", &c.Vehicle},
		{"Job number", "", &c.Job},
		{"Axle (front, rear)", "", &c.Axle},
		{"Odometer, with its unit", "", &c.Odometer},
		{"Teeth of the pinion", "--pinion-teeth", &c.PinionTeeth},
		{"Teeth of the crown wheel", "--wheel-teeth", &c.WheelTeeth},
		{"Are the old gears kept (yes, no; empty: yes)", "", &c.Used},
		{"Outside diameter of the crown wheel, mm (empty: unknown)", "--wheel-diameter", &c.WheelDiameter},
		{"Unit of the manual's backlash window (mm, in; empty: mm)", "--unit", &c.Unit},
		{"Backlash, lower limit (empty: a default for the wheel, to be confirmed)", "--lower", &c.Lower},
		{"Backlash, upper limit", "--upper", &c.Upper},
		{"Page of the manual", "", &c.Source},
		{"Resolution of the indicator, mm", "--resolution", &c.Resolution},
	} {
		if err := c.put(con, answers, q); err != nil {
			return err
		}
	}
	return nil
}

// put asks until the answer can stand.
func (c *jobNewCmd) put(con *console, answers *bufio.Scanner, q question) error {
	doubted := ""
	for {
		fmt.Fprintf(con.err, "%s: ", q.text)
		if !answers.Scan() {
			if !errors.Is(answers.Err(), errInterrupted) {
				return usagef("answer the questions or give flags", "job new: the answers ended early")
			}
			fmt.Fprintln(con.err)
			return usagef("no folder was made", "job new: interrupted")
		}
		before, answer := *c, strings.TrimSpace(answers.Text())
		if !q.set(answer) {
			*c = before
			_, yesNo := q.to.(*bool)
			fmt.Fprintf(con.err, "%q is not %s\n", answer, map[bool]string{true: "yes or no", false: "a number"}[yesNo])
			continue
		}
		params := c.params()
		if params.Lower == 0 && params.Upper == 0 && q.flag != "--upper" { // not asked yet
			params.Lower, params.Upper = 0.13, 0.18
		}
		text, err := sheet.NewTOML(params)
		wrong := c.mistakes(err)
		i := slices.IndexFunc(wrong, func(m flagMistake) bool { return m.flag == q.flag })
		if i < 0 {
			doubt := doubtOf(q.flag, text)
			if doubt == "" || answer == doubted {
				return nil
			}
			*c, doubted = before, answer
			fmt.Fprintf(con.err, "look: %s. Type it again if it is so, or type the right one.\n", doubt)
			continue
		}
		*c = before
		fmt.Fprintf(con.err, "%s\n", strings.TrimSuffix(wrong[i].text, ", or give --example"))
	}
}

// doubtedPlaces are what a new sheet is doubted about by the question that
// settles it.
var doubtedPlaces = map[string]string{"--wheel-teeth": "gear_set", "--upper": "window backlash"}

// doubtOf says what is odd in a new sheet by the answer to a question; "": nothing.
func doubtOf(flag string, text []byte) string {
	s, _ := sheet.Parse("", text) // its mistakes are told before, and of nothing there is no doubt
	for _, f := range s.Check() {
		if f.Severity == sheet.Doubt && f.Where == doubtedPlaces[flag] {
			return f.Text
		}
	}
	return ""
}

// set takes an answer; it is false for one that is not what is asked for.
func (q question) set(answer string) bool {
	if answer == "" {
		return true
	}
	var err error
	switch to := q.to.(type) {
	case *string:
		*to = answer
	case *bool:
		word := strings.ToLower(answer)
		*to = strings.HasPrefix("yes", word)
		return *to || strings.HasPrefix("no", word)
	case *int:
		*to, err = strconv.Atoi(answer)
	case *float64:
		*to, err = strconv.ParseFloat(strings.Replace(answer, ",", ".", 1), 64)
	}
	return err == nil
}
