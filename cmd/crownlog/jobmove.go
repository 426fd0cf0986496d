package main

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"time"

	"crownlog/cmd/crownlog/live"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

type jobMoveCmd struct {
	Job    string `arg:"" help:"Job folder."`
	Amount steps  `arg:"" help:"Notches, or mm of shim; positive brings the crown wheel towards the pinion, negative, such as -1, takes it away."`
	Stage  string `help:"Stage of the job. Default: the one it is at, never as found."`

	NotSeated bool `help:"A bearing cup did not follow the adjuster: the move is recorded, and teaches nothing about what one notch does."`
	Reversed  bool `help:"The adjuster was turned back on the way: the move is recorded, and teaches nothing about what one notch does."`

	Note string `help:"Anything worth keeping: which side first, how it seated."`
	signer
}

// Run records the move in the unit of the sheet's adjuster, and says what the
// hands will have done.
func (c *jobMoveCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		if c.Stage == "" {
			stage = job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.StageOfMove()
		}
		unit := live.MoveUnit(f.Sheet())
		move, err := record.AddMove(f, stage, record.Move{
			Amount: float64(c.Amount), Unit: unit, Note: c.Note, Unseated: c.NotSeated, Reversed: c.Reversed,
		}, time.Now())
		if err != nil {
			return move, err
		}
		if doubt := f.Sheet().DoubtMove(float64(c.Amount)); doubt != "" {
			con.say("%s; if it is a slip: crownlog job undo %s %d", doubt, c.Job, move.ID)
		}
		fmt.Fprintf(con.out, "%s; now measure: crownlog measure %s --stage %s --feature backlash\n", c.Amount.inWords(unit), c.Job, stage)
		return move, nil
	})
}

// steps is an adjuster move as it is typed, with its sign.
type steps float64

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

// UnmarshalText reads "2", "+2" or "-2".
func (s *steps) UnmarshalText(text []byte) error {
	number := string(text)
	if len(number) > len(minus) && number[:len(minus)] == minus {
		number = "-" + number[len(minus):]
	}
	v, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return fmt.Errorf("%q is not a number of notches or mm, such as 1, -1 or 0.05", number)
	}
	*s = steps(v)
	return nil
}

// inWords says which side went in and which out.
func (s steps) inWords(unit string) string {
	size := strconv.FormatFloat(math.Abs(float64(s)), 'f', -1, 64)
	in, out := "crown-wheel side", "far side"
	if s < 0 {
		in, out = out, in
	}
	if unit == "mm" {
		return fmt.Sprintf("%s mm of shim from the %s to the %s", size, out, in)
	}
	return fmt.Sprintf("%s in %s, %s out %s", in, size, out, size)
}
