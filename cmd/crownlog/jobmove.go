package main

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

type jobMoveCmd struct {
	Job   string   `arg:"" help:"Job folder."`
	Move  []string `arg:"" help:"Notches, or mm of shim; positive brings the crown wheel towards the pinion, negative, such as -1, takes it away. Or what each side did: far out 1, crown in 0.5 far out 1."`
	Stage string   `help:"Stage of the job. Default: the one it is at, never as found."`

	NotSeated bool `help:"A bearing cup did not follow the adjuster: the move is recorded, and teaches nothing about what one notch does."`
	Reversed  bool `help:"The adjuster was turned back on the way: the move is recorded, and teaches nothing about what one notch does."`

	Note string `help:"Anything worth keeping: which side first, how it seated."`
	signer
}

// Run records the move in the unit of the sheet's adjuster, and says what the
// hands will have done.
func (c *jobMoveCmd) Run(con *console) error {
	move, err := feature.ParseMove(strings.Join(c.Move, " "))
	if err != nil {
		return usagef("", "%q: %w", strings.ReplaceAll(strings.Join(c.Move, " "), minus, "-"), err)
	}
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		j := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}
		if c.Stage == "" {
			stage = j.StageOfMove()
		}
		move.Unit, move.Note = j.Sheet.MoveUnit(), c.Note
		move.Unseated, move.Reversed = move.Unseated || c.NotSeated, move.Reversed || c.Reversed
		moved, err := record.AddMove(f, stage, move, time.Now())
		if err != nil {
			return moved, err
		}
		if doubt := j.Sheet.DoubtMove(moved.Value); doubt != "" {
			con.say("%s; if it is a slip: crownlog job undo %s %d", doubt, c.Job, moved.ID)
		}
		next := "now measure"
		if _, torqued := j.CapsAgain(stage); torqued {
			next = "now torque the cap bolts again and measure"
		}
		near, far := moved.Sides()
		fmt.Fprintf(con.out, "%s; %s: crownlog measure %s --stage %s --feature backlash\n", words.Moved(near, far, moved.Unit == "mm"), next, c.Job, stage)
		return moved, nil
	})
}

// minus stands for the sign of a negative move on its way through the parser of
// the command line, which takes a hyphen for a flag.
const minus = "\u2212"

var negative = regexp.MustCompile(`^-(\d|[.,]\d)`)

// withMinus rewrites a negative number among the args of job move so that it is
// not taken for a flag.
func withMinus(args []string) []string {
	if len(args) < 2 || args[0] != "job" || args[1] != "move" {
		return args
	}
	signed := make([]string, len(args))
	for i, a := range args {
		if signed[i] = a; negative.MatchString(a) {
			signed[i] = minus + a[1:]
		}
	}
	return signed
}
