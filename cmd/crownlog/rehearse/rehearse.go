// Package rehearse plays an invented job on the simulated bench, through the
// same path as a real one: gauges on ports, rounds, record. Simulated hands do
// what a fitter would.
package rehearse

import (
	"context"
	_ "embed"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"
	"time"

	"crownlog/analysis/gum"
	"crownlog/cmd/crownlog/live"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/export"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

//go:embed rehearsal.toml
var sheet []byte

// Sheet is the job.toml of the invented job.
func Sheet() []byte { return slices.Clone(sheet) }

const (
	keyPause     = time.Second / 2  // between typed values on a screen, for the eye to follow
	mostMoves    = 4                // of the adjusters; the advice needs two where it learns
	longestRound = 30 * time.Minute // of the bench's time: an air test takes ten
)

// A Rehearsal is one job on the bench.
type Rehearsal struct {
	Folder *job.Folder // made with Sheet
	Bench  *simbench.Bench
	ByKey  bool    // the hands wait for a key to go on to the next position
	Lesson *Lesson // nil: it plays without stopping

	Hub     *live.Hub     // where the views go; nil: nobody takes them
	Watched bool          // somebody sees the views, on a screen or a phone
	Pause   time.Duration // how long a result stays for them

	// Where the end is told, and where all before it; what hears the events of the
	// rounds, and how a round that ended is told.
	Out     io.Writer
	Lines   io.Writer
	Listen  func(logger.Event)
	Summary func(logger.View) []string

	truths []truth // of what was captured
	ended  bool    // the job was played to its end
}

// Play runs the bench and the job on it until the job is over or ctx ends.
func (r *Rehearsal) Play(ctx context.Context) error {
	ctx, cancel := context.WithCancel(ctx)
	ran := make(chan error, 1)
	go func() {
		defer cancel()
		ran <- live.Caught(func() error { return r.Bench.Run(ctx) })
	}()
	err := r.job(ctx)
	cancel()
	return errors.Join(err, <-ran)
}

// job goes through the steps of the sheet, as far as the simulated hands can.
func (r *Rehearsal) job(ctx context.Context) error {
	stage := record.StageAsFound
	for _, step := range (job.Job{Sheet: r.Folder.Sheet()}).Steps() {
		if step.Stage != stage {
			stage = step.Stage
			r.begin(stage)
		}
		task, ok := taskFor(step.Feature, r.Bench)
		if !ok || (stage == record.StageAsFound && step.Optional) {
			continue
		}
		if err := r.measure(ctx, step, task); err != nil || ctx.Err() != nil {
			return err
		}
		if step.Stage == record.StageSetUp && step.Feature == record.FeatureBacklash {
			if err := r.adjust(ctx, step, task); err != nil || ctx.Err() != nil {
				return err
			}
		}
	}
	r.ended = true
	return nil
}

// begin does the work a stage starts with.
func (r *Rehearsal) begin(stage string) {
	switch stage {
	case record.StageFitUp:
		r.emit("the old centre comes out, the crown wheel goes onto the new one, dry and with its old bolts")
		r.Bench.Do(simbench.FitCentre())
	case record.StageCaps:
		r.Bench.Do(simbench.TorqueCaps())
	}
}

// adjust moves the adjusters as advised, measuring after each move.
func (r *Rehearsal) adjust(ctx context.Context, step job.Step, task task) error {
	for range mostMoves {
		advice, err := job.AdviseMove(r.Folder.Sheet(), r.Folder.Captures())
		if err != nil || !advice.Needed || advice.Steps == 0 {
			return err
		}
		r.Lesson.begin(ctx, record.FeatureMove)
		r.emit(fmt.Sprintf("moving the adjusters as advised, %+g in notches", advice.Steps))
		r.Bench.Do(simbench.MoveAdjusters(advice.Steps))
		move := job.AsAdvised(advice)
		move.Unit = "notch"
		if _, err := record.AddMove(r.Folder, step.Stage, move, r.Bench.Now()); err != nil {
			return err
		}
		if err := r.measure(ctx, step, task); err != nil || ctx.Err() != nil {
			return err
		}
	}
	return nil
}

// emit says in plain lines what comes next.
func (r *Rehearsal) emit(text string) { fmt.Fprintf(r.Lines, "\n%s\n", text) }

// An End is how a rehearsal came out.
type End struct {
	Off     bool // a backlash was measured further from the truth than it may be
	Outside bool // the job was played to its end, and the axle is outside its window
	Whole   bool // the job was played to its end
}

// Conclude writes the record and prints where it is, and the truth beside it. The
// end is good beside an error.
func (r *Rehearsal) Conclude() (End, error) {
	path, err := export.WriteRecord(r.Folder.Dir(), r.Folder.Sheet(), r.Folder.Captures())
	worst := printTruths(r.Out, r.truths)
	if err == nil {
		fmt.Fprintf(r.Out, "\nrecord: %s\n", path)
	}
	final := feature.Assess(r.Folder.Sheet(), r.Folder.Captures(), record.StageFinal, record.FeatureBacklash)
	return End{Off: worst > closeEnough, Outside: r.ended && final.Verdict == gum.Outside, Whole: r.ended}, err
}

// A truth is a backlash that was measured, in mm, with what the bench knows.
type truth struct {
	stage, place     string
	measured, actual float64
}

// closeEnough is what a backlash of a rehearsal may be off, in mm.
const closeEnough = 0.010

// printTruths prints what was measured beside the truth and returns the worst
// difference in mm.
func printTruths(w io.Writer, truths []truth) (worst float64) {
	fmt.Fprintln(w, "\nBacklash as measured beside what the bench knows, in mm:")
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight)
	fmt.Fprintln(t, "stage\tplace\tmeasured\ttruth\tdifference\t")
	for _, b := range truths {
		diff := b.measured - b.actual
		worst = math.Max(worst, math.Abs(diff))
		fmt.Fprintf(t, "%s\t%s\t%.4f\t%.4f\t%+.4f\t\n", b.stage, b.place, b.measured, b.actual, diff)
	}
	t.Flush()
	fmt.Fprintf(w, "%d values, worst difference %.4f mm (limit %.3f)\n", len(truths), worst, closeEnough)
	return worst
}
