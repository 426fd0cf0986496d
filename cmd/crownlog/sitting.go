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

// A sitting is the work at one job without leaving: a single round in plain
// lines, or round after round on the dashboard, with the same gauges.
type sitting struct {
	cmd    *measureCmd
	con    *console
	folder *logger.JobFolder
	plugs  []gaugePort
}

// An openRound is a round of the sitting with the file of its readings.
type openRound struct {
	*logger.Round
	readings *readingsFile
	hear     []string // labels of its gauges
}

// Close ends the round and its readings.
func (r openRound) Close() error { return errors.Join(r.Round.Close(), r.readings.Close()) }

// open starts the round of a feature. Only the first of a sitting overrides
// because the command line says so.
func (s *sitting) open(at dashboard.Turn, override string, listen func(logger.Event)) (openRound, error) {
	sheet := s.folder.Sheet()
	config := logger.RoundConfig{
		Sheet: sheet, Stage: at.Stage, Feature: at.Feature, Store: s.folder, Gauge: s.cmd.label(sheet),
		HandsOff: s.cmd.HandsOff, Continuous: s.cmd.Continuous, Again: at.Again, Mend: at.Mend, Override: override, Listen: listen,
	}
	chosen := gaugesFor(s.plugs, at.Feature)
	if len(chosen) > 0 {
		config.Unit, config.Gauge = chosen[0].profile.Unit, chosen[0].label
		config.Resolution = chosen[0].resolution()
	}
	config.Keyed = len(chosen) == 0
	config.NoKeys = listen != nil // plain lines
	config.Piped = s.cmd.Keyed && !isTerminal(s.con.in)
	readings := &readingsFile{folder: s.folder, stage: at.Stage, feature: at.Feature}
	config.Readings = readings
	round, err := logger.NewRound(config)
	if err != nil {
		return openRound{}, err
	}
	return openRound{Round: round, readings: readings, hear: labels(chosen)}, round.Hold()
}

// A readingsFile keeps the raw readings of a round in a file that is made when
// the first one comes.
type readingsFile struct {
	folder         *logger.JobFolder
	stage, feature string
	to             *logger.ReadingsWriter
}

// Record writes one gauge event.
func (f *readingsFile) Record(ev device.Event) error {
	if f.to == nil {
		to, err := f.folder.Readings(f.stage, f.feature)
		if err != nil {
			return err
		}
		f.to = to
	}
	return f.to.Record(ev)
}

// Close ends the file, if there is one.
func (f *readingsFile) Close() error {
	if f.to == nil {
		return nil
	}
	return f.to.Close()
}

// onDashboard measures round after round until the user leaves. It prints how
// each ended; the last one's verdict counts.
func (s *sitting) onDashboard(ctx context.Context) error {
	b := newBoard()
	var ends []outcome
	src := dashboard.Source{
		Job:      func() dashboard.JobView { return wholeJob(s.folder) },
		GoOn:     b.turn,
		Override: func(hold, reason string) { b.chore(func(r *logger.Round) error { return s.pass(r, hold, reason) }) },
		Pattern:  s.patterns(),
		Division: s.folder.Sheet().Gauge.ResolutionMM,
	}
	err := withScreen(ctx, b, src, func(ctx context.Context) error {
		var sources []source
		for _, p := range s.plugs {
			sources = append(sources, p.source())
		}
		g := startGauges(ctx, sources...)
		defer g.stop()
		var err error
		ends, err = s.rounds(ctx, b, g)
		return err
	})
	if err != nil {
		return err
	}
	return s.sumUp(ends)
}

// sumUp prints how each round ended and makes the exit code of the worst.
func (s *sitting) sumUp(ends []outcome) error {
	var worst error
	for _, out := range ends {
		if err := conclude(s.con, out, false); err != nil {
			worst = err
		}
		if !out.done {
			worst = errOutside
		}
	}
	if n := len(ends); worst == nil && n > 0 && ends[n-1].lost != "" {
		return lostError(errGaugeLost, ends[n-1])
	}
	return worst
}

// rounds goes from round to round, as the user asks. The outcomes are those of
// rounds in which something stands, the last of each feature in a stage.
func (s *sitting) rounds(ctx context.Context, b *board, g *gauges) (ends []outcome, err error) {
	at, override := s.first(), s.cmd.Override
	for {
		round, err := s.open(at, override, nil)
		if err != nil {
			return ends, err
		}
		out, err := runRound(ctx, roundConfig{round: round.Round, gauges: g, board: b, stay: true, hear: round.hear})
		if out.view.Stored > 0 {
			ends = slices.DeleteFunc(ends, func(before outcome) bool { return before.sameRound(out) })
			ends = append(ends, out)
		}
		if err = errors.Join(err, round.Close()); err != nil || out.turn == nil {
			return ends, err
		}
		if at, err = s.follow(*out.turn, at); err != nil {
			return ends, err
		}
		override = ""
	}
}

// first is where the command line begins.
func (s *sitting) first() dashboard.Turn {
	return dashboard.Turn{Stage: s.cmd.Stage, Feature: s.cmd.Feature, Again: s.cmd.Again}
}

// follow records the move the user reports, and says what is measured next.
func (s *sitting) follow(turn, at dashboard.Turn) (dashboard.Turn, error) {
	at.Again, at.Mend = false, false
	if moved := turn.Moved; moved.Amount != 0 {
		moved.Unit = moveUnit(s.folder.Sheet())
		_, err := logger.RecordMove(s.folder, at.Stage, moved, time.Now())
		return at, err
	}
	if turn.Feature != "" {
		return turn, nil
	}
	step, ok := logger.Job{Sheet: s.folder.Sheet(), Captures: s.folder.Captures()}.Next()
	if !ok {
		return at, nil
	}
	return dashboard.Turn{Stage: step.Stage, Feature: step.Feature}, nil
}

// moveUnit is what adjuster moves are counted in.
func moveUnit(sheet logger.Sheet) string {
	if sheet.Adjuster.Kind == "shims" {
		return "mm"
	}
	return "notch"
}

// pass records that a hold point is passed, and lets the round go on if it was
// the one it waited for.
func (s *sitting) pass(r *logger.Round, hold, reason string) error {
	if _, err := logger.RecordOverride(s.folder, r.View().Stage, hold, reason, time.Now()); err != nil {
		return err
	}
	return r.Hold()
}

// patterns is what the entry of a contact pattern begins with.
func (s *sitting) patterns() *dashboard.PatternEntry {
	gears := s.folder.Sheet().GearSet
	entry := &dashboard.PatternEntry{Form: gears.ToothForm, PinionFree: gears.PinionDepth == "free"}
	contact := func(feature string) *analysis.Contact {
		if c, ok := logger.PatternOf(s.folder.Captures(), s.cmd.Stage, feature); ok {
			return &c
		}
		return nil
	}
	entry.Drive, entry.Coast = contact(logger.FeaturePatternDrive), contact(logger.FeaturePatternCoast)
	return entry
}

// inPlainLines measures one round. Its gauges alone are opened.
func (s *sitting) inPlainLines(ctx context.Context) error {
	con := s.con
	round, err := s.open(s.first(), s.cmd.Override, plainListener(con, s.cmd.JSON))
	if err != nil {
		return err
	}
	if held := round.Held(); len(held) > 0 {
		return errors.Join(heldError(held), round.Close())
	}
	first := round.View().Action
	shown := showing{wait: s.cmd.Wait, begin: func() { con.say("%s", first) }} // a port that does not open has one line to itself
	sources := s.sources()
	if s.cmd.Keyed {
		con.say("%s", first)
		shown.begin = nil
	}
	out, err := measureRound(ctx, round.Round, shown, sources...)
	if err = errors.Join(err, round.Close()); err != nil {
		return lostError(err, out)
	}
	err = conclude(con, out, s.cmd.JSON)
	switch {
	case err != nil:
		return err
	case out.lost != "":
		return lostError(errGaugeLost, out)
	case !out.done:
		return errOutside // for whoever goes on by the exit code
	}
	return nil
}

// sources are where the readings of a round in plain lines come from.
func (s *sitting) sources() []source {
	if s.cmd.Keyed {
		sheet := s.folder.Sheet()
		unit := sheet.UnitFor(s.cmd.Feature)
		if s.cmd.Feature == logger.FeatureLeakDown {
			unit = "" // read as pressures and a time, each with its own
		}
		keyed := device.NewKeyed(s.cmd.label(sheet), unit, s.con.in, time.Now)
		keyed.SetParser(func(line string) ([]device.KeyedValue, error) {
			return logger.ParseTyped(s.cmd.Feature, line, sheet.Gauge.ResolutionMM)
		})
		return []source{keyed}
	}
	var sources []source
	for _, p := range gaugesFor(s.plugs, s.cmd.Feature) {
		sources = append(sources, p.source())
	}
	return sources
}

// heldError says what comes before the round.
func heldError(held []logger.HoldPoint) error {
	return usagef("clear that first, or pass it with --override and the reason, which stays in the record", "%s", strings.TrimSuffix(held[0].Reason, "."))
}

// lostError turns the loss of a gauge into one clear line.
func lostError(err error, out outcome) error {
	if !errors.Is(err, errGaugeLost) {
		return err
	}
	return devicef("check the cable and run the same command again: the round goes on where it stopped",
		"the gauge went away and did not come back (%s); %d captures are on disk", out.lost, out.view.Stored)
}
