package main

import (
	"errors"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"time"

	"crownlog/logger/export"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

type jobNoteCmd struct {
	jobWriter
	Text  string `arg:"" help:"The note."`
	Stage string `help:"Stage of the job. Default: the one it is at."`
}

// Run records the note.
func (c *jobNoteCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		return record.AddNote(f, stage, c.Text, time.Now())
	})
}

type jobAttachCmd struct {
	jobWriter
	File  string `arg:"" help:"Photo or document to copy in."`
	Note  string `help:"What it shows."`
	Stage string `help:"Stage of the job. Default: the one it is at."`
}

// Run copies the file in.
func (c *jobAttachCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		return f.Attach(stage, c.File, c.Note, time.Now())
	})
}

type jobOverrideCmd struct {
	jobWriter
	Hold   string `arg:"" help:"Name of the hold point, as job show prints it."`
	Reason string `arg:"" help:"Why it is skipped, in some words."`
	Stage  string `help:"Stage of the job. Default: the one it is at."`
}

// Run records that a hold point that exists is skipped.
func (c *jobOverrideCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, c.Stage, func(f *job.Folder, stage string) (record.Capture, error) {
		var names []string
		for _, h := range job.HoldPoints(f.Sheet(), f.Captures()) {
			if h.Name == c.Hold {
				return record.AddOverride(f, stage, c.Hold, c.Reason, time.Now())
			}
			names = append(names, h.Name)
		}
		return record.Capture{}, usagef("one of "+strings.Join(names, ", "), "no hold point %q", c.Hold)
	})
}

type jobUndoCmd struct {
	jobWriter
	Number int `arg:"" help:"Number of the capture, move, note, override or attachment, the first cell of its line in captures.csv."`
}

// Run adds a line that takes the capture back; nothing is erased.
func (c *jobUndoCmd) Run(con *console) error {
	return withJob(con, c.By, c.Job, func(f *job.Folder) error {
		was, err := record.Reject(f, c.Number, time.Now())
		if err != nil {
			return usagef("the numbers are in the first column of captures.csv", "%w", err)
		}
		fmt.Fprintf(con.out, "undone: number %d, %s, %s%s\n", was.ID, was.Stage, record.Title(was.Feature), captureWords(was, ""))
		return nil
	})
}

type jobAimCmd struct {
	jobWriter
	Aim string `arg:"" help:"What the backlash is set to: as-found, the mean it was found with, or window, the entered one. The verdicts stay those of the window." enum:"as-found,window"`
	Why string `help:"Why, in some words." required:"" placeholder:"REASON"`
}

// Run records the decision, which clears the hold point that asks for it.
func (c *jobAimCmd) Run(con *console) error {
	return addCapture(con, c.By, c.Job, "", func(f *job.Folder, _ string) (record.Capture, error) {
		return job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.DecideAim(f, c.Aim, c.Why, time.Now())
	})
}

type jobTickCmd struct {
	jobWriter
	Names []string `arg:"" help:"What was seen to, by the names that job show prints."`
	Photo string   `help:"Photo to copy in with it." placeholder:"FILE"`
	Note  string   `help:"Anything worth keeping; of copied windows the page of this vehicle's manual."`
}

// Run records the ticks, all or none, and the photo in front of them.
func (c *jobTickCmd) Run(con *console) error {
	return withJob(con, c.By, c.Job, func(f *job.Folder) error {
		var checks []job.Check
		for _, name := range c.Names {
			check, err := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}.Check(name)
			if err != nil {
				return usagef("", "%w", err)
			}
			checks = append(checks, check)
		}
		if c.Photo != "" {
			if _, err := f.Attach(checks[0].Stage, c.Photo, strings.Join(c.Names, ", "), time.Now()); err != nil {
				return err
			}
		}
		for _, check := range checks {
			done, err := check.TickOff(f, c.Note, time.Now())
			if err != nil {
				return err
			}
			fmt.Fprintf(con.out, "ticked %s as number %d: %s\n", check.Name, done.ID, done.Note)
		}
		return nil
	})
}

type jobMoveCmd struct {
	jobWriter
	Move  []string `arg:"" help:"Notches, or mm of shim; positive brings the crown wheel towards the pinion, negative, such as -1, takes it away. Or what each side did: far out 1, crown in 0.5 far out 1."`
	Stage string   `help:"Stage of the job. Default: the one it is at, never as found."`

	NotSeated bool `help:"A bearing cup did not follow the adjuster: the move is recorded, and teaches nothing about what one notch does."`
	Reversed  bool `help:"The adjuster was turned back on the way: the move is recorded, and teaches nothing about what one notch does."`

	Note string `help:"Anything worth keeping: which side first, how it seated."`
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
		_, torqued := j.CapsAgain(stage)
		next := "now " + words.Given(torqued, "torque the cap bolts again and ") + "measure"
		near, far := moved.Sides()
		fmt.Fprintf(con.out, "%s; %s: crownlog measure %s --stage %s --feature backlash\n", words.Moved(near, far, moved.Unit == "mm"), next, c.Job, stage)
		return moved, nil
	})
}

// minus stands for the sign of a negative move on its way through the parser of
// the command line, which takes a hyphen for a flag.
const minus = "\u2212"

var negative = regexp.MustCompile(`^-([.,]?\d)`)

// withMinus rewrites a negative number among the args of job move so that it is
// not taken for a flag.
func withMinus(args []string) []string {
	if len(args) < 2 || args[0] != "job" || args[1] != "move" {
		return args
	}
	args = slices.Clone(args)
	for i, a := range args {
		args[i] = negative.ReplaceAllString(a, minus+"$1")
	}
	return args
}

// A signer is the flag of each verb that writes what a person says.
type signer struct {
	By string `help:"Who enters it, for the record. Default: the operator in job.toml." placeholder:"NAME"`
}

// A jobWriter is what each verb takes that only writes to a job.
type jobWriter struct {
	Job string `arg:"" help:"Job folder."`
	signer
}

// withJob opens the job folder for writing and does what changes it, in the name
// of by where that is given. record.csv is written anew after that, with news that
// are not good too, and where an error came after something was stored.
func withJob(con *console, by, dir string, do func(*job.Folder) error) error {
	folder, err := job.Open(dir)
	if err != nil {
		return err
	}
	if torn := folder.Torn(); torn != "" {
		con.say("the last line of %s was cut short and is set aside in captures.csv.torn: %q", dir, torn)
	}
	if by != "" {
		folder.Sign(by)
	}
	before := len(folder.Captures())
	if err = do(folder); err == nil || errors.Is(err, errOutside) || len(folder.Captures()) > before {
		_, recordErr := export.WriteRecord(folder.Dir(), folder.Sheet(), folder.Captures())
		err = errors.Join(err, recordErr)
	}
	return errors.Join(err, folder.Close())
}

// addCapture writes one capture into the job at the stage named, or at the one
// the job is at, and says its number.
func addCapture(con *console, by, dir, stage string, write func(f *job.Folder, stage string) (record.Capture, error)) error {
	return withJob(con, by, dir, func(f *job.Folder) error {
		job := job.Job{Sheet: f.Sheet(), Captures: f.Captures()}
		if stage == "" {
			stage = job.At()
		}
		if stages := job.Sheet.StageList(); !slices.Contains(stages, stage) {
			return usagef("one of "+strings.Join(stages, ", "), "no stage %q in job.toml", stage)
		}
		c, err := write(f, stage)
		if err == nil {
			fmt.Fprintf(con.out, "recorded %s at %s as number %d\n", c.Feature, c.Stage, c.ID)
		}
		return err
	})
}
