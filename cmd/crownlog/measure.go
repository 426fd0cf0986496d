package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

type measureCmd struct {
	jobWriter
	Feature    string        `help:"What to measure: backlash, runout-back-face, bolt-torque-caps, ... Default: what the job needs next."`
	Stage      string        `help:"Stage of the job: as-found, bench, set-up, caps-torqued, final. Default: what the job needs next."`
	Port       []string      `help:"Port of a gauge, as listen takes it; again for each further gauge." placeholder:"PORT" sep:"none"`
	Gauge      []string      `help:"Gauge profile, by name or file, of the port in the same place. Default: that of job.toml, or text." placeholder:"PROFILE" sep:"none"`
	Keyed      bool          `help:"No serial gauge: one value a line, typed or piped in."`
	NoScreen   bool          `help:"Print plain lines instead of the dashboard."`
	JSON       bool          `name:"json" help:"Print events as JSON lines; no dashboard."`
	Again      bool          `help:"Measure it anew; the new values replace the old ones, which stay in the record."`
	HandsOff   bool          `help:"Go to the next position when the plunger is lifted." default:"true" negatable:""`
	Continuous bool          `help:"Run-out: one continuous turn instead of positions."`
	Override   string        `help:"Skip the hold points in front; the reason stays on record." placeholder:"REASON"`
	Wait       time.Duration `help:"Without a dashboard: how long a lost gauge may stay away; 0: for ever." default:"30s"`
	phoneFlags

	complete bool   // nothing of the job is left to measure
	from     string // the port that was found by itself; "": named, or none
	sleepy   string // why the machine is not kept awake; "": it is
}

// Run measures one round; on the dashboard it goes on with the job from there.
func (c *measureCmd) Run(ctx context.Context, con *console) error {
	if err := c.offerJob(con); err != nil {
		return err
	}
	return withJob(con, c.By, c.Job, func(f *job.Folder) error {
		if err := confirmCopied(con, f); err != nil {
			return err
		}
		return errors.Join(c.measure(ctx, con, f), c.reportWhenComplete(con, f))
	})
}

// offerJob makes the job folder that does not exist yet, if the user wants it.
func (c *measureCmd) offerJob(con *console) error {
	if _, err := os.Stat(c.Job); !errors.Is(err, fs.ErrNotExist) || !con.asks() {
		return nil
	}
	answer := con.ask("There is no job " + c.Job + " yet. Make it now? (y or n): ")
	if !strings.HasPrefix(strings.ToLower(answer), "y") {
		return usagef(shellCommand("job", "new", c.Job)+" makes it", "no job folder %s", c.Job)
	}
	return (&jobNewCmd{Dir: c.Job}).Run(con)
}

// confirmCopied asks whether windows that were copied from another vehicle are those
// of this one. Without an answer they stay a hold point.
func confirmCopied(con *console, f *job.Folder) error {
	check, err := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.Check(sheet.CheckCopied)
	if err != nil || check.Tick.ID > 0 || !con.asks() {
		return nil
	}
	for _, w := range f.Sheet().Windows {
		fmt.Fprintf(con.err, "  %s: %s (%s)\n", w.Feature, w.LimitsAs("at least ", "at most ", " "+w.Unit), w.Source)
	}
	page := con.ask("These and the torques are copied from another vehicle. Confirmed for this one? Type the page of its manual (Enter: not yet): ")
	if page != "" {
		_, err = check.TickOff(f, page, time.Now())
	}
	return err
}

// reportWhenComplete writes the report once nothing is left to measure, and prints
// its path.
func (c *measureCmd) reportWhenComplete(con *console, folder *job.Folder) error {
	_, open := job.Job{Sheet: folder.Sheet(), Captures: folder.Captures()}.Next()
	if open || c.JSON || len(folder.Captures()) == 0 {
		return nil
	}
	fmt.Fprintln(con.out, "the job is complete; its report:")
	return (&exportCmd{Job: c.Job, HTML: true}).Run(con)
}

// findGauge finds where readings come from when nothing says so: the only port
// there is, of those on USB if there are any, or the keyboard where there is none.
func (c *measureCmd) findGauge(ports []device.PortInfo) error {
	if slices.ContainsFunc(ports, func(p device.PortInfo) bool { return p.USB }) {
		ports = slices.DeleteFunc(ports, func(p device.PortInfo) bool { return !p.USB })
	}
	if len(ports) > 1 {
		return usagef("crownlog ports lists them; name the gauge's with --port, or give --keyed to type the values", "there are %d serial ports", len(ports))
	}
	for _, p := range ports {
		c.from, c.Port = p.Name, []string{p.Name}
	}
	c.Keyed = len(ports) == 0
	return nil
}

func (c *measureCmd) measure(ctx context.Context, con *console, folder *job.Folder) error {
	if err := c.choose(folder); err != nil {
		return err
	}
	screen := c.onScreen(con)
	if c.complete && !screen {
		return nil // which is said with the report
	}
	if screen && !c.Keyed && len(c.Port) == 0 {
		if ports, err := listPorts(); err != nil {
			return err
		} else if err := c.findGauge(ports); err != nil {
			return err
		}
	}
	sheet := folder.Sheet()
	ports, err := c.gauges(con, sheet)
	if err != nil {
		return err
	}
	s := &live.Session{
		Folder: folder, Ports: ports, Label: c.label(sheet), HandsOff: c.HandsOff, Continuous: c.Continuous,
		Piped: c.Keyed && !isTerminal(con.in),
	}
	first := job.Request{Stage: c.Stage, Feature: c.Feature, Again: c.Again}
	hub := live.NewHub()
	if !s.Piped {
		stop, err := keepAwake()
		if err == nil {
			defer stop()
		} else if c.sleepy = fmt.Sprintf("This machine may fall asleep (%v): switch its sleep off.", err); !screen && isTerminal(con.err) {
			con.say("%s", c.sleepy)
		}
	}
	if !screen { // the round is all there is
		return c.show(ctx, con, hub, folder, nil, nil, func(ctx context.Context) error { return c.inPlainLines(ctx, con, s, hub, first) })
	}
	src := c.source(s, hub)
	var ends []live.Outcome
	err = c.show(ctx, con, hub, folder, hub.Request, &src, func(ctx context.Context) (err error) {
		ends, err = s.Run(ctx, hub, first, c.Override) // round after round until the user leaves
		return err
	})
	return errors.Join(c.sumUp(con, ends), err)
}

// source is what the dashboard shows beside the round, and takes.
func (c *measureCmd) source(s *live.Session, hub *live.Hub) dashboard.Source {
	src := jobSource(s.Folder)
	src.Next = hub.Request
	src.Override = func(hold, reason string) { hub.Do(s.Override(hold, reason)) }
	src.Tick = func(name string) { hub.Do(s.Tick(name)) }
	src.Keep = func(path, note string) { hub.Do(s.Keep(droppedPath(path), note)) }
	if i := slices.IndexFunc(s.Ports, func(p live.Port) bool { return p.Name == device.ThisKeyboard }); i >= 0 {
		open, hand := device.KeyboardPort()
		s.Ports[i].Open = open
		src.Cable = func(line string) { go io.WriteString(hand, line) } // the gauge may wait for the disk
	}
	src.From, src.Note = c.from, c.sleepy
	src.Division = s.Folder.Sheet().Gauge.ResolutionMM
	return src
}

// droppedPath is the path of a file as it is typed or dropped on a terminal, which
// puts quotes around some.
func droppedPath(text string) string {
	text = strings.Trim(text, `'"`)
	if home, err := os.UserHomeDir(); err == nil && strings.HasPrefix(text, "~/") {
		return filepath.Join(home, text[2:])
	}
	return text
}

// sumUp prints how each round ended and makes the exit code of the worst.
func (c *measureCmd) sumUp(con *console, ends []live.Outcome) (worst error) {
	for i, out := range ends {
		worst = errors.Join(worst, c.conclude(con, out))
		if i == len(ends)-1 && out.Lost != "" {
			worst = errors.Join(worst, lostError(out))
		}
	}
	return worst
}

// conclude prints how a round ended and how it goes on. The error is errOutside
// for news that are not good: whoever goes on by the exit code is to stop.
func (c *measureCmd) conclude(con *console, out live.Outcome) error {
	err := conclude(con, out, c.JSON)
	if !out.Done && !c.JSON {
		fmt.Fprintln(con.out, "  to go on: "+c.goOn(out))
	}
	return cmp.Or(err, outsideIf(!out.Done))
}

// goOn is the command that goes on with a round. One that measures anew begins
// again with its first place.
func (c *measureCmd) goOn(out live.Outcome) string {
	words := []string{"measure", c.Job, "--stage", out.View.Stage, "--feature", out.View.Feature}
	for i, port := range c.Port {
		words = append(words, "--port", port)
		if i < len(c.Gauge) {
			words = append(words, "--gauge", c.Gauge[i])
		}
	}
	if c.Keyed {
		words = append(words, "--keyed")
	}
	if c.Continuous {
		words = append(words, "--continuous")
	}
	if c.By != "" {
		words = append(words, "--by", c.By)
	}
	command := shellCommand(words...)
	if out.At.Again || out.At.Remeasure {
		command += " --again, from the first place; till then the others keep what they had"
	}
	return command
}

// leftOver is how long piped values may go on after the last that was needed: a
// file is read by then, and who keeps the pipe open is not waited for.
const leftOver = time.Second

// inPlainLines measures one round. Its gauges alone are opened.
func (c *measureCmd) inPlainLines(ctx context.Context, con *console, s *live.Session, hub *live.Hub, at job.Request) error {
	round, err := s.Open(at, c.Override, plainListener(con, c.JSON))
	if err != nil {
		return err
	}
	if held := round.Held(); len(held) > 0 {
		return errors.Join(usagef("clear that first, or skip it with --override and the reason, which stays in the record",
			"%s", strings.TrimSuffix(held[0].Reason, ".")), round.Close())
	}
	config := live.Config{Round: round.Round, Hub: hub, Wait: c.Wait}
	first := round.View()
	if s.Piped {
		config.Rest = leftOver
	} else if first.Fresh {
		con.say("set up the dial:")
		for _, line := range append(first.Card, "CAUTION: "+first.Caution) {
			con.say("  %s", line)
		}
	}
	if round.Done() {
		con.say("all of it is stored already; --again measures it anew")
	}
	con.say("%s", first.Action)
	out, err := live.Measure(ctx, config, c.sources(con, s)...)
	out.At = at
	if lost := errors.Is(err, live.ErrGaugeLost); lost || out.Lost != "" && err == nil {
		err = lostError(out)
	}
	err = errors.Join(err, round.Close())
	if err == nil || out.View.Stored > 0 {
		return errors.Join(c.conclude(con, out), err)
	}
	return err
}

// sources are where the readings of a round in plain lines come from.
func (c *measureCmd) sources(con *console, s *live.Session) []live.Source {
	if c.Keyed {
		sheet := s.Folder.Sheet().InStage(c.Stage)
		unit := sheet.UnitFor(c.Feature)
		if c.Feature == record.FeatureLeakDown {
			unit = "" // read as pressures and a time, each with its own
		}
		parse := func(line string) ([]frame.KeyedValue, error) {
			return feature.ParseTyped(c.Feature, line, sheet.Gauge.ResolutionMM)
		}
		return []live.Source{device.NewKeyed(s.Label, unit, con.in, parse, time.Now)}
	}
	return live.Sources(live.PortsFor(s.Ports, c.Feature))
}

// lostError is the loss of a gauge in one clear line.
func lostError(out live.Outcome) error {
	return devicef("check the cable, then go on", "the gauge went away and did not come back (%s); %s stored", out.Lost, count(out.View.Stored, "value"))
}

// choose fills in what the job needs next and checks what was asked for.
func (c *measureCmd) choose(folder *job.Folder) error {
	sheet := folder.Sheet()
	if c.Feature != "" && !slices.Contains(record.Features(), c.Feature) {
		return usagef("one of "+strings.Join(record.Features(), ", "), "no feature %q", c.Feature)
	}
	if c.Stage != "" && !slices.Contains(sheet.StageList(), c.Stage) {
		return usagef("one of "+strings.Join(sheet.StageList(), ", "), "no stage %q in job.toml", c.Stage)
	}
	if c.Feature != "" && c.Stage != "" {
		return nil
	}
	var at job.Step
	var last record.Capture // that was measured
	for _, capture := range record.Active(folder.Captures()) {
		if record.IsMeasured(capture.Feature) {
			last = capture
		}
	}
	const begun, needed, finished, optional, none = 0, 1, 2, 3, 4 // the first that there is
	chosen := none
	for _, s := range (job.Job{Sheet: sheet, Captures: folder.Captures()}).Steps() {
		rank := none
		switch {
		case c.Feature != "" && c.Feature != s.Feature, c.Stage != "" && c.Stage != s.Stage:
		case s.Open() && s.Measured > 0 && !s.Complete && s.Stage == last.Stage && s.Feature == last.Feature:
			rank = begun
		case s.Open() && (s.Complete || !s.Optional):
			rank = needed
		case s.Complete && c.Feature == "" && c.Stage == "":
			rank = finished
		case s.Open():
			rank = optional
		}
		if rank < chosen || rank == finished && chosen == finished { // opened on its last result
			chosen, at = rank, s
		}
	}
	if chosen == none {
		return usagef("name --stage and --feature, with --again to measure anew", "nothing is left to measure")
	}
	c.Feature, c.Stage, c.complete = at.Feature, at.Stage, chosen == finished
	return nil
}

// onScreen says whether the round is shown on the dashboard.
func (c *measureCmd) onScreen(con *console) bool {
	return con.screen() && !c.NoScreen && !c.JSON && (!c.Keyed || isTerminal(con.in))
}
