package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/cmd/crownlog/live"
	"crownlog/cmd/crownlog/rehearse"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/job"
)

type rehearseCmd struct {
	HandsOff bool    `help:"No key is needed: the simulated hands go on by themselves (the default without --by-key)." xor:"hands"`
	ByKey    bool    `help:"The simulated hands rock, and wait for a key to go on to the next position." xor:"hands"`
	Teach    bool    `help:"Stop before the first step of each kind and say why; at life speed, with keys that make a fitter's mistakes." xor:"hands"`
	NoScreen bool    `help:"Print plain lines instead of the dashboard."`
	Seed     int64   `help:"Which invented axle; the same seed gives the same record." default:"1"`
	Pace     float64 `help:"Simulated seconds in a real one. Default: 12 on the dashboard, as fast as it goes without." placeholder:"X"`
	Dir      string  `help:"Job folder to make. Default: one in the system's temporary folder."`
	phoneFlags
}

const (
	resultPause = 2500 * time.Millisecond // a result stays on the dashboard, long enough to be read
	ackWait     = 20 * time.Second        // of the bench for a round that does not answer: a slow machine tells the same lines
)

// Run plays a whole job on the simulated bench, through the same path as a real
// one.
func (c *rehearseCmd) Run(ctx context.Context, con *console) error {
	screen := con.screen() && !c.NoScreen
	switch {
	case c.ByKey && !screen && !c.phoned():
		return usagef("leave out --no-screen or --by-key, and start it in a terminal", "--by-key needs the dashboard, or --phone")
	case c.Teach && !screen:
		return usagef("leave out --no-screen, and start it in a terminal", "--teach needs the dashboard")
	case c.Teach && c.Pace == 0:
		c.Pace = 1
	}
	if !(c.Pace >= 0) {
		return usagef("12 is twelve times as fast as life, 0 as fast as it goes", "--pace %g is not a pace", c.Pace)
	}
	if c.Pace == 0 && (screen || c.phoned()) {
		c.Pace = rehearse.WatchedPace
	}
	if c.Dir == "" {
		dir, err := os.MkdirTemp("", "crownlog-rehearsal-")
		if err != nil {
			return usagef("name a folder with --dir, or mend TMPDIR", "make a temporary folder: %w", err)
		}
		c.Dir = dir
	}
	folder, err := job.Create(c.Dir, rehearse.Sheet())
	if err != nil {
		return err
	}
	bench, err := simbench.New(simbench.Config{Seed: c.Seed, Pace: c.Pace, AckWait: ackWait})
	if err != nil {
		return errors.Join(devicef("", "%w", err), folder.Close())
	}
	r := rehearse.Rehearsal{
		Folder: folder, Bench: bench, ByKey: c.ByKey, Pause: resultPause,
		Out: con.out, Lines: con.out, Listen: plainListener(con, false), Summary: roundSummaryLines, Hub: live.NewHub(),
	}
	r.Watched = screen || c.phoned()
	if c.Teach {
		r.Lesson = rehearse.NewLesson(bench, c.Pace, r.Hub.Poke)
	}
	var src *dashboard.Source
	if screen {
		r.Lines, r.Listen = io.Discard, func(logger.Event) {}
		shown := jobSource(folder)
		if src = &shown; r.Lesson != nil {
			src.Lesson = r.Lesson
		}
	}
	err = c.show(ctx, con, r.Hub, folder, nil, src, r.Play)
	err = errors.Join(err, c.conclude(con, &r), bench.Close(), folder.Close())
	if c.Teach { // a lesson ends with the report of what was played, and with a job of one's own
		err = errors.Join(err, (&exportCmd{Job: c.Dir, HTML: true}).Run(con))
		fmt.Fprintln(con.out, "For a real job: crownlog measure my-axle")
	}
	return err
}

// conclude writes the record and makes the exit code.
func (c *rehearseCmd) conclude(con *console, r *rehearse.Rehearsal) error {
	end, err := r.Conclude()
	switch {
	case !end.Whole:
		con.say("the rehearsal ended before the job did")
	case end.Outside:
		con.say("this axle ended outside its window; another --seed is another axle")
	}
	if !end.Whole || end.Off {
		return errors.Join(errOutside, err)
	}
	return err
}
