// Crownlog measures the backlash around a differential's crown wheel, and the
// run-outs, torques, preloads and air tightness of the same job, from gauges on
// serial ports, and files them.
package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"strings"
	"syscall"
	"time"

	"github.com/alecthomas/kong"

	"crownlog/cmd/crownlog/live"
)

// verbs is the command line: one field a verb, each in a file of its name.
type verbs struct {
	Job        jobCmd        `cmd:"" help:"Open a job folder, show it, check its job.toml."`
	Ports      portsCmd      `cmd:"" help:"List the serial ports."`
	Listen     listenCmd     `cmd:"" help:"Print what a gauge sends."`
	Identify   identifyCmd   `cmd:"" help:"Find out what a port speaks and propose a gauge profile."`
	Measure    measureCmd    `cmd:"" help:"Measure one feature of a job in one stage, position by position."`
	Gauge      gaugeCmd      `cmd:"" help:"Check a gauge on a known size, and the hand that holds it."`
	Analyse    analyseCmd    `cmd:"" help:"Compute a measurement from a recorded trace."`
	Compare    compareCmd    `cmd:"" help:"Say what changed from stage to stage."`
	Export     exportCmd     `cmd:"" help:"Write the record as CSV, HTML, PDF or JSON; without a flag the first three, into the job folder."`
	Verify     verifyCmd     `cmd:"" help:"Say whether a record is the one that was made: follow its chain, compare every file with its seal, and measure each round again from its readings."`
	Replay     replayCmd     `cmd:"" help:"Play a recorded round through the live path again."`
	Profiles   profilesCmd   `cmd:"" help:"List gauge profiles, show one, check one against captured bytes."`
	Version    versionCmd    `cmd:"" help:"Print the version."`
	Rehearse   rehearseCmd   `cmd:"" help:"Play a whole job on a simulated bench."`
	Completion completionCmd `cmd:"" help:"Print a shell completion script."`

	Offer offerCmd `cmd:"" hidden:"" help:"Print what can follow on the command line, for the completion scripts."`

	ShowVersion kong.VersionFlag `name:"version" hidden:""` // as many programs have it
}

func main() {
	signal.Ignore(syscall.SIGPIPE) // results that nobody reads end a run in order
	ctx, stop := signal.NotifyContext(context.Background(), endings()...)
	context.AfterFunc(ctx, func() {
		time.Sleep(inOrder)
		stop()                        // a later signal ends the program at once,
		signal.Ignore(syscall.SIGHUP) // but for the hangups that a closed terminal sends one after the other
	})
	os.Exit(run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) // deaf to signals still: the summary is out
}

// inOrder is the time a run has to end in order after a signal, whatever signals
// follow: a service manager or a key that is held sends several, and a slow disk
// takes some tenths of a second for the record.
const inOrder = 2 * time.Second

// endings are the signals that end a run in order: the screen is put back and
// the record written. A hangup that is ignored, as under nohup, stays so.
func endings() []os.Signal {
	list := []os.Signal{os.Interrupt, syscall.SIGTERM, syscall.SIGQUIT}
	if !signal.Ignored(syscall.SIGHUP) {
		list = append(list, syscall.SIGHUP)
	}
	return list
}

// run does what args say and returns the exit code.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	out := &results{to: stdout, stop: stop}
	con := &console{ctx: ctx, in: stdin, out: out, err: stderr}
	err := runVerb(ctx, con, args)
	if crash, ok := errors.AsType[*live.Crash](err); ok {
		panic(crash.Error())
	}
	if !errors.Is(err, out.err) {
		err = errors.Join(err, out.err)
	}
	return con.fail(err)
}

// runVerb finds the verb that args name and runs it.
func runVerb(ctx context.Context, con *console, args []string) error {
	helped := false
	parser, err := kong.New(&verbs{},
		kong.Name("crownlog"),
		kong.Description("Measures and files the setting of a crown wheel and pinion.\n\n"+
			"Exit codes: 0 done, 1 measured and outside its window or not measurable, "+
			"2 usage or a bad input file, 3 gauge or port trouble, 4 the record is damaged, or it or the results cannot be written."),
		kong.Vars{"version": versionLine()},
		kong.Writers(con.out, con.err),
		kong.Exit(func(int) { helped = true }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true}),
	)
	if err != nil {
		return err
	}
	for _, leaf := range parser.Model.Leaves(false) {
		for _, f := range leaf.Flags {
			if f.PlaceHolder == "" && f.Default == "" {
				f.PlaceHolder = valueNames[strings.TrimPrefix(f.Target.Type().String(), "*")]
			}
		}
	}
	if len(args) == 0 {
		args = []string{"--help"}
	} else if args[0] == "help" { // which is what a newcomer types
		args = append(args[1:], "--help")
	}
	parsed, err := parser.Parse(withMinus(args))
	if helped {
		return nil
	}
	if err != nil {
		return err
	}
	parsed.BindTo(ctx, (*context.Context)(nil))
	return parsed.Run(con)
}

// valueNames are what help calls the values of flags; kong would name the Go type.
var valueNames = map[string]string{"float64": "NUMBER", "int": "NUMBER", "int64": "NUMBER", "string": "TEXT"}

type versionCmd struct{}

// Run prints the version.
func (*versionCmd) Run(con *console) error {
	fmt.Fprintln(con.out, versionLine())
	return nil
}

func versionLine() string {
	return fmt.Sprintf("crownlog %s %s %s/%s", programVersion(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

// programVersion is what the Go tool stamped into the binary: a release, or the
// commit it was built from.
func programVersion() string {
	info, _ := debug.ReadBuildInfo() // which a binary of the Go tool has
	return cmp.Or(info.Main.Version, "(devel)")
}

type jobCmd struct {
	New      jobNewCmd      `cmd:"" help:"Open a new job folder with a commented job.toml."`
	Show     jobShowCmd     `cmd:"" help:"Show where a job stands and what comes next."`
	Check    jobCheckCmd    `cmd:"" help:"Check job.toml for mistakes and misprints."`
	Tick     jobTickCmd     `cmd:"" help:"Tick what was seen to, off the lists before the strip and before closing up."`
	Aim      jobAimCmd      `cmd:"" help:"Decide what a used set found beyond its window is set to."`
	Move     jobMoveCmd     `cmd:"" help:"Record an adjuster move."`
	Note     jobNoteCmd     `cmd:"" help:"Record a note: sealant, oil batch, anything."`
	Attach   jobAttachCmd   `cmd:"" help:"Copy a photo or document into the job, with its hash."`
	Override jobOverrideCmd `cmd:"" aliases:"skip" help:"Skip a hold point, with the reason that stays on record."`
	Mend     jobMendCmd     `cmd:"" help:"Show what is sound in a damaged captures.csv, and go on with it."`
	Undo     jobUndoCmd     `cmd:"" help:"Take back one line of the record; both stay in it."`
}
