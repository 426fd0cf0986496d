package main

import (
	"context"
	"errors"
	"slices"
	"strings"
	"time"

	"crownlog/logger"
)

type measureCmd struct {
	Job        string        `arg:"" help:"Job folder."`
	Feature    string        `help:"What to measure: backlash, runout-back-face, bolt-torque-caps, ... Default: what the job needs next."`
	Stage      string        `help:"Stage of the job: as-found, bench, set-up, caps-torqued, final. Default: what the job needs next."`
	Port       []string      `help:"Serial port of a gauge; again for each further gauge." placeholder:"PORT" sep:"none"`
	Gauge      []string      `help:"Gauge profile, by name or file, of the port in the same place. Default: the sheet's, or text." placeholder:"PROFILE" sep:"none"`
	Keyed      bool          `help:"No serial gauge: one value a line, typed or piped in."`
	NoScreen   bool          `help:"Print plain lines instead of the dashboard."`
	JSON       bool          `name:"json" help:"Print events as JSON lines; no dashboard."`
	Again      bool          `help:"Measure the feature anew; the new captures supersede the old ones."`
	HandsOff   bool          `help:"Go to the next position when the plunger is lifted." default:"true" negatable:""`
	Continuous bool          `help:"Run-out: one continuous turn instead of positions."`
	Override   string        `help:"Pass a hold point; the reason goes on record." placeholder:"REASON"`
	Wait       time.Duration `help:"Without a dashboard: how long a lost gauge may stay away; 0: for ever." default:"30s"`
}

// Run measures one round; on the dashboard it goes on with the job from there.
func (c *measureCmd) Run(ctx context.Context, con *console) error {
	if c.onScreen(con) {
		if err := drawable(); err != nil {
			return err
		}
	}
	folder, err := openJob(con, c.Job)
	if err != nil {
		return err
	}
	err = c.measure(ctx, con, folder)
	if _, recordErr := logger.WriteRecord(folder.Dir(), folder.Sheet(), folder.Captures()); err == nil || errors.Is(err, errOutside) {
		err = errors.Join(err, recordErr)
	}
	return errors.Join(err, folder.Close())
}

func (c *measureCmd) measure(ctx context.Context, con *console, folder *logger.JobFolder) error {
	if err := c.choose(folder); err != nil {
		return err
	}
	plugs, err := c.gauges(con, folder.Sheet())
	if err != nil {
		return err
	}
	s := &sitting{cmd: c, con: con, folder: folder, plugs: plugs}
	if c.onScreen(con) {
		return s.onDashboard(ctx)
	}
	return s.inPlainLines(ctx)
}

// choose fills in what the job needs next and checks what was asked for.
func (c *measureCmd) choose(folder *logger.JobFolder) error {
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
		return s.Open() && (c.Feature == "" || s.Feature == c.Feature) && (c.Stage == "" || s.Stage == c.Stage)
	}
	i := slices.IndexFunc(steps, func(s logger.Step) bool { return open(s) && (s.Done || !s.Optional) })
	if i < 0 {
		i = slices.IndexFunc(steps, open)
	}
	if i < 0 {
		return usagef("name --stage and --feature, with --again to measure anew", "nothing is left to measure")
	}
	c.Feature, c.Stage = steps[i].Feature, steps[i].Stage
	return nil
}

// gauges says where readings will come from; none where they are typed. On the
// dashboard what no gauge measures is typed, and a contact pattern is drawn.
func (c *measureCmd) gauges(con *console, sheet logger.Sheet) ([]gaugePort, error) {
	switch {
	case c.Keyed && len(c.Port) > 0:
		return nil, usagef("take one of them", "--keyed and --port exclude each other")
	case c.Keyed, isPattern(c.Feature) && c.onScreen(con):
		return c.plug(con, sheet)
	case isPattern(c.Feature):
		return nil, usagef("give --keyed: first along, -1 toe to +1 heel, then up, -1 root to +1 face", "%s is drawn on the dashboard or typed", c.Feature)
	case len(c.Port) == 0:
		return nil, usagef("crownlog ports lists them; --keyed needs none", "no --port given")
	}
	plugs, err := c.plug(con, sheet)
	if err == nil && len(gaugesFor(plugs, c.Feature)) == 0 {
		return nil, usagef("choose its profile with --gauge, or type the values with --keyed",
			"%s is not measured in %s, which gauge profile %s sends", logger.FeatureTitle(c.Feature), plugs[0].profile.Unit, plugs[0].profile.Name)
	}
	return plugs, err
}

func isPattern(feature string) bool {
	return feature == logger.FeaturePatternDrive || feature == logger.FeaturePatternCoast
}

// onScreen says whether the round is shown on the dashboard.
func (c *measureCmd) onScreen(con *console) bool {
	return con.screen() && !c.NoScreen && !c.JSON && (!c.Keyed || isTerminal(con.in))
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
