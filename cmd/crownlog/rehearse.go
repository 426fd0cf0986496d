package main

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"os"
	"time"

	"crownlog/analysis"
	"crownlog/cmd/crownlog/dashboard"
	"crownlog/device/simbench"
	"crownlog/logger"
)

//go:embed rehearsal.toml
var rehearsalSheet []byte

type rehearseCmd struct {
	HandsOff bool    `help:"No key is needed: the simulated hands go on by themselves (the default without --by-key)." xor:"hands"`
	ByKey    bool    `help:"The simulated hands rock, and wait for a key to go on to the next position." xor:"hands"`
	NoScreen bool    `help:"Print plain lines instead of the dashboard."`
	Seed     int64   `help:"Which invented axle; the same seed gives the same record." default:"1"`
	Pace     float64 `help:"Simulated seconds in a real one. Default: 12 on the dashboard, as fast as it goes without." placeholder:"X"`
	Dir      string  `help:"Job folder to make. Default: one in the system's temporary folder."`
}

const (
	watchingPace = 12                      // of a dashboard that is watched
	resultPause  = 2500 * time.Millisecond // a result stays on the dashboard
	keyPause     = time.Second / 2         // between typed values
	mostMoves    = 4                       // of the adjusters
	longestRound = 30 * time.Minute
)

// Run plays a whole job on the simulated bench, through the same path as a real
// one.
func (c *rehearseCmd) Run(ctx context.Context, con *console) error {
	screen := con.screen() && !c.NoScreen
	if c.ByKey && !screen {
		return usagef("leave out --no-screen or --by-key, and start it in a terminal", "--by-key needs the dashboard")
	}
	if !(c.Pace >= 0) {
		return usagef("12 is twelve times as fast as life, 0 as fast as it goes", "--pace %g is not a pace", c.Pace)
	}
	if c.Pace == 0 && screen {
		c.Pace = watchingPace
	}
	if screen {
		if err := drawable(); err != nil {
			return err
		}
	}
	dir, err := c.makeDir()
	if err != nil {
		return err
	}
	folder, err := logger.CreateJob(dir, rehearsalSheet)
	if err != nil {
		return err
	}
	bench, err := simbench.New(simbench.Config{Seed: c.Seed, Pace: c.Pace, AckWait: 2 * time.Second})
	if err != nil {
		return errors.Join(devicef("", "%w", err), folder.Close())
	}
	r := &rehearsal{con: con, folder: folder, sheet: folder.Sheet(), bench: bench, byKey: c.ByKey, linger: resultPause}
	if screen {
		r.board = newBoard()
	}
	err = r.play(ctx)
	return errors.Join(err, r.conclude(), bench.Close(), folder.Close())
}

func (c *rehearseCmd) makeDir() (string, error) {
	if c.Dir != "" {
		return c.Dir, nil
	}
	return os.MkdirTemp("", "crownlog-rehearsal-")
}

// A rehearsal is one job on the bench.
type rehearsal struct {
	con    *console
	folder *logger.JobFolder
	sheet  logger.Sheet
	bench  *simbench.Bench
	board  *board // nil: plain lines
	byKey  bool
	truths []truth       // of every backlash captured
	linger time.Duration // how long a result stays on the dashboard
	ended  bool          // the job was played to its end
}

// play runs the bench and the job on it until the job is over or ctx ends.
func (r *rehearsal) play(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	ran := make(chan error, 1)
	go func() {
		defer cancel()
		ran <- caught(func() error { return r.bench.Run(ctx) })
	}()
	var err error
	if r.board == nil {
		err = r.job(ctx)
	} else {
		gears := r.sheet.GearSet
		err = withScreen(ctx, r.board, dashboard.Source{
			Job:     func() dashboard.JobView { return wholeJob(r.folder) },
			Pattern: &dashboard.PatternEntry{Form: gears.ToothForm, PinionFree: gears.PinionDepth == "free"},
		}, r.job)
	}
	cancel()
	return errors.Join(err, <-ran)
}

// job goes through the steps of the sheet, as far as the simulated hands can.
func (r *rehearsal) job(ctx context.Context) error {
	stage := logger.StageAsFound
	for _, step := range (logger.Job{Sheet: r.sheet}).Steps() {
		if step.Stage != stage {
			stage = step.Stage
			r.begin(stage)
		}
		task, ok := taskFor(step.Feature)
		if !ok || (stage == logger.StageAsFound && step.Optional) {
			continue
		}
		if err := r.measure(ctx, step, task); err != nil || ctx.Err() != nil {
			return err
		}
		if step.Stage == logger.StageSetUp && step.Feature == logger.FeatureBacklash {
			if err := r.adjust(ctx, step, task); err != nil || ctx.Err() != nil {
				return err
			}
		}
	}
	r.ended = true
	return nil
}

// begin does the work a stage starts with.
func (r *rehearsal) begin(stage string) {
	switch stage {
	case logger.StageBench:
		r.tell("the old centre comes out, the crown wheel goes onto the new one")
		r.bench.Do(simbench.FitCentre())
	case logger.StageCaps:
		r.bench.Do(simbench.TorqueCaps())
	}
}

// adjust moves the adjusters as advised, measuring after each move.
func (r *rehearsal) adjust(ctx context.Context, step logger.Step, task task) error {
	for range mostMoves {
		advice, err := logger.AdviseMove(r.sheet, r.folder.Captures())
		if err != nil || !advice.Needed || advice.Notches == 0 {
			return err
		}
		r.tell(fmt.Sprintf("moving the adjusters as advised, %+d in notches", advice.Notches))
		r.bench.Do(simbench.MoveAdjusters(advice.Notches))
		if _, err := logger.RecordMove(r.folder, step.Stage, logger.Move{Amount: float64(advice.Notches), Unit: "notch", Note: "as advised"}, r.bench.Now()); err != nil {
			return err
		}
		if err := r.measure(ctx, step, task); err != nil || ctx.Err() != nil {
			return err
		}
	}
	return nil
}

// listener tells the hands, and in plain lines the reader, what happens.
func (r *rehearsal) listener(f *fitter) func(logger.Event) {
	plain := plainListener(r.con, false)
	return func(ev logger.Event) {
		if r.board == nil {
			plain(ev)
		}
		f.hear(ev)
	}
}

// tell says in plain lines what comes next.
func (r *rehearsal) tell(text string) {
	if r.board == nil {
		fmt.Fprintf(r.con.out, "\n%s\n", text)
	}
}

// showResult leaves a result on the dashboard for a moment, or prints it.
func (r *rehearsal) showResult(ctx context.Context, out outcome) error {
	if r.board == nil {
		for _, line := range roundSummaryLines(out.view, out.done) {
			fmt.Fprintln(r.con.out, line)
		}
		return nil
	}
	pause(ctx, r.linger)
	return nil
}

// conclude writes the record and prints where it is, and the truth beside it.
func (r *rehearsal) conclude() error {
	path, err := logger.WriteRecord(r.folder.Dir(), r.folder.Sheet(), r.folder.Captures())
	if err != nil {
		return err
	}
	worst := printTruths(r.con.out, r.truths)
	fmt.Fprintf(r.con.out, "\nrecord: %s\n", path)
	if worst > closeEnough {
		return errOutside
	}
	if r.ended && logger.JudgeRound(r.sheet, r.folder.Captures(), logger.StageFinal, logger.FeatureBacklash).Verdict == analysis.Outside {
		r.con.say("this axle ended outside its window; another --seed is another axle")
	}
	return nil
}
