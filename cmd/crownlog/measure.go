package main

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/cmd/crownlog/dashboard"
	"crownlog/device"
	"crownlog/logger"
)

type measureCmd struct {
	Job        string        `arg:"" help:"Job folder."`
	Feature    string        `help:"What to measure: backlash, runout-back-face, bolt-torque-caps, ... Default: what the job needs next."`
	Stage      string        `help:"Stage of the job: as-found, bench, set-up, caps-torqued, final. Default: what the job needs next."`
	Gauge      string        `help:"Gauge profile, by name or file. Default: the sheet's, or text."`
	Port       string        `help:"Serial port of the gauge."`
	Keyed      bool          `help:"No serial gauge: one value a line, typed or piped in."`
	NoScreen   bool          `help:"Print plain lines instead of the dashboard."`
	JSON       bool          `name:"json" help:"Print events as JSON lines; no dashboard."`
	Again      bool          `help:"Measure the feature anew; the new captures supersede the old ones."`
	HandsOff   bool          `help:"Go to the next position when the plunger is lifted." default:"true" negatable:""`
	Continuous bool          `help:"Run-out: one continuous turn instead of positions."`
	Override   string        `help:"Pass a hold point; the reason goes on record." placeholder:"REASON"`
	Wait       time.Duration `help:"Without a dashboard: how long a lost gauge may stay away." default:"30s"`
}

// Run measures one round.
func (c *measureCmd) Run(ctx context.Context, con *console) error {
	folder, err := openJob(con, c.Job)
	if err != nil {
		return err
	}
	err = c.measure(ctx, con, folder)
	if _, recordErr := folder.WriteRecord(); err == nil || errors.Is(err, errOutside) {
		err = errors.Join(err, recordErr)
	}
	return errors.Join(err, folder.Close())
}

func (c *measureCmd) measure(ctx context.Context, con *console, folder *logger.Folder) error {
	if err := c.choose(folder); err != nil {
		return err
	}
	profile, sources, err := c.sources(con, folder.Sheet())
	if err != nil {
		return err
	}
	readings, err := folder.Readings(c.Stage, c.Feature)
	if err != nil {
		return err
	}
	screen := c.onScreen(con)
	config := logger.RoundConfig{
		Sheet: folder.Sheet(), Stage: c.Stage, Feature: c.Feature, Store: folder, Readings: readings,
		Resolution: profileResolution(profile, c.Feature), Unit: profile.Unit, Gauge: c.label(folder.Sheet()),
		Keyed: c.Keyed, HandsOff: c.HandsOff, Continuous: c.Continuous, Again: c.Again, Override: c.Override,
	}
	if !screen {
		config.Listen = plainListener(con, c.JSON)
	}
	round, err := logger.NewRound(config)
	if err != nil {
		return errors.Join(err, readings.Close())
	}
	pass := func(hold, reason string) error {
		_, err := logger.RecordOverride(folder, c.Stage, hold, reason, time.Now())
		return err
	}
	shown := showing{screen: screen, extra: c.screenExtras(folder), wait: c.Wait, pass: pass}
	if first := round.View().Action; c.Keyed && !screen {
		con.say("%s", first)
	} else {
		shown.begin = func() { con.say("%s", first) } // a port that does not open has one line to itself
	}
	out, err := measureRound(ctx, round, shown, sources...)
	if err = errors.Join(err, round.Close(), readings.Close()); err != nil {
		return lostError(err, out)
	}
	if err := conclude(con, out, c.JSON); err != nil || out.lost == "" {
		return err
	}
	return lostError(errGaugeLost, out)
}

// screenExtras is what the dashboard shows beside the round: the whole job, and
// both flanks of a contact pattern.
func (c *measureCmd) screenExtras(folder *logger.Folder) dashboard.Source {
	sheet := folder.Sheet()
	src := dashboard.Source{Job: func() dashboard.JobView { return wholeJob(folder) }}
	if c.isPattern() {
		src.Pattern = &dashboard.PatternEntry{Form: sheet.GearSet.ToothForm, PinionFree: sheet.GearSet.PinionDepth == "free"}
		if contact, ok := logger.PatternOf(folder.Captures(), c.Stage, logger.FeaturePatternDrive); ok {
			src.Pattern.Drive = &contact
		}
		if contact, ok := logger.PatternOf(folder.Captures(), c.Stage, logger.FeaturePatternCoast); ok {
			src.Pattern.Coast = &contact
		}
	}
	return src
}

// choose fills in what the job needs next and checks what was asked for.
func (c *measureCmd) choose(folder *logger.Folder) error {
	sheet := folder.Sheet()
	if c.Feature != "" && !slices.Contains(logger.Features(), c.Feature) {
		return usagef("one of "+strings.Join(logger.Features(), ", "), "no feature %q", c.Feature)
	}
	if c.Stage != "" && !slices.Contains(sheet.StageList(), c.Stage) {
		return usagef("one of "+strings.Join(sheet.StageList(), ", "), "no stage %q in the job sheet", c.Stage)
	}
	if c.Feature != "" && c.Stage != "" {
		return nil
	}
	steps := logger.Job{Sheet: sheet, Captures: folder.Captures()}.Steps()
	open := func(s logger.Step) bool {
		return !s.Done && (c.Feature == "" || s.Feature == c.Feature) && (c.Stage == "" || s.Stage == c.Stage)
	}
	i := slices.IndexFunc(steps, func(s logger.Step) bool { return open(s) && !s.Optional })
	if i < 0 {
		i = slices.IndexFunc(steps, open)
	}
	if i < 0 {
		return usagef("name --stage and --feature, with --again to measure anew", "nothing is left to measure")
	}
	c.Feature, c.Stage = steps[i].Feature, steps[i].Stage
	return nil
}

// sources opens nothing yet: it says where readings will come from. A contact
// pattern drawn on the dashboard needs none.
func (c *measureCmd) sources(con *console, sheet logger.Sheet) (device.Profile, []source, error) {
	none := device.Profile{}
	switch {
	case c.Keyed && c.Port != "":
		return none, nil, usagef("take one of them", "--keyed and --port exclude each other")
	case c.Keyed && c.onScreen(con):
		return none, nil, nil // the dashboard takes the typing
	case c.Keyed:
		unit, _ := logger.FeatureUnit(c.Feature)
		return none, []source{device.NewKeyed(c.label(sheet), unit, con.in, time.Now)}, nil
	case c.isPattern() && c.onScreen(con):
		return none, nil, nil
	case c.isPattern():
		return none, nil, usagef("give --keyed: first along, -1 toe to +1 heel, then up, -1 root to +1 face", "%s is drawn on the dashboard or typed", c.Feature)
	case c.Port == "":
		return none, nil, usagef("crownlog ports lists them; --keyed needs none", "no --port given")
	}
	name := c.Gauge
	if name == "" {
		name = sheet.Gauge.Profile
	}
	if name == "" {
		name = "text"
	}
	profile, err := device.FindProfile(name)
	if err != nil {
		return none, nil, err
	}
	gauge := device.NewGauge(c.label(sheet), profile, device.SerialOpener(c.Port, profile.Serial), time.Now)
	return profile, []source{gauge}, nil
}

func (c *measureCmd) isPattern() bool {
	return c.Feature == logger.FeaturePatternDrive || c.Feature == logger.FeaturePatternCoast
}

// onScreen says whether the round is shown on the dashboard.
func (c *measureCmd) onScreen(con *console) bool {
	return con.screen() && !c.NoScreen && !c.JSON && (!c.Keyed || isTerminal(con.in))
}

// profileResolution is the gauge's smallest step in the feature's unit; 0 where
// the profile does not say.
func profileResolution(p device.Profile, feature string) float64 {
	unit, _ := logger.FeatureUnit(feature)
	step, err := analysis.Convert(p.Resolution, p.Unit, unit)
	if err != nil {
		return 0
	}
	return step
}

// label is the name readings are kept under.
func (c *measureCmd) label(sheet logger.Sheet) string {
	switch {
	case sheet.Gauge.Label != "":
		return sheet.Gauge.Label
	case c.Keyed:
		return "keyed"
	}
	return "gauge"
}

// lostError turns the loss of a gauge into one clear line.
func lostError(err error, out outcome) error {
	if !errors.Is(err, errGaugeLost) {
		return err
	}
	return devicef("check the cable and run the same command again: the round goes on where it stopped",
		"the gauge went away and did not come back (%s); %d captures are on disk", out.lost, out.view.Stored)
}
