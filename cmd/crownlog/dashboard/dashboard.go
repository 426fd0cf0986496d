// Package dashboard draws a job on the terminal so that it can be read from
// two metres with both hands on the gear. It draws logger.View values and owns
// no truth: what to measure, what is stored and what it means is decided
// elsewhere.
package dashboard

import (
	"context"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"crownlog/logger"
	"crownlog/logger/job"
)

// A Source is where the screen gets what it shows and puts what was asked. All
// functions are called on the screen's goroutine and must return at once;
// work that can wait on a disk or a port is handed on.
type Source struct {
	Latest   func() logger.View              // the view to draw now
	Wake     <-chan struct{}                 // one slot: something changed since the last view
	Command  func(logger.Command)            // a key was pressed
	Job      func() JobView                  // the whole job; nil: there is no job view
	Override func(hold, reason string)       // a hold point is to be passed for this reason; nil: cannot
	Tick     func(name string)               // an entry of the lists was seen to; nil: cannot
	Pattern  func(stage string) PatternEntry // what the entry of a contact pattern needs to know; nil: nothing is known
	Next     func(job.Request)               // the job is to go on with another round; nil: there is only this one
	Keep     func(path, note string)         // a file is to be kept with the step at hand or, without a path, a note; nil: cannot
	Cable    func(line string)               // a cable typed a line into the keys, here with its end; nil: none does
	Phone    *Phone                          // the page for a phone; nil: there is none
	From     string                          // the port whose gauge is waited for, where nobody named it; ""
	Lesson   Lesson                          // a rehearsal that teaches; nil: none does
	Note     string                          // to be read once before measuring; "": nothing
	Division float64                         // one division of the dial in mm, for typed values; 0: not known
	NoColor  bool                            // weights and shapes only
}

// A Lesson is a rehearsal that stops to say something. Its methods return at once.
type Lesson interface {
	Says() string              // why it stands still; "": it goes on
	Key(key rune) (taken bool) // space goes on, others make mistakes
}

// paintEvery is the time between two paints at most: 30 a second.
const paintEvery = 33 * time.Millisecond

// Run draws src on screen until ctx ends or the user quits, and restores the
// terminal before it returns or panics. A nil screen is the terminal the
// program was started in. The error is of the terminal, which has been restored
// too.
func Run(ctx context.Context, screen tcell.Screen, src Source) error {
	screen, line, err := openScreen(screen)
	if err != nil {
		return err
	}
	// The screen and its gauges are less than a tenth of one core's work. With a
	// second the runtime wakes a thread at each reading to look for more, which
	// costs a quarter of all that the program takes.
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	app := tview.NewApplication()
	panel := newPanel(src, cancel)
	panel.screen = screen
	panel.ascii = !screen.CanDisplay('⠿', false) || !screen.CanDisplay('█', false)
	f := feeder{app: app, panel: panel, line: line, ended: make(chan string, 1), counts: countsOf(panel.view)}
	start := sync.OnceFunc(func() { go f.run(ctx) })
	app.SetRoot(panel, true).SetInputCapture(panel.anyKey)
	app.SetAfterDrawFunc(func(tcell.Screen) { start() })
	app.SetScreen(steadyScreen{screen}).EnablePaste(true)
	if err := app.Run(); err != nil {
		return err
	}
	if panicked := <-f.ended; panicked != "" {
		panic(panicked)
	}
	return nil
}

// CheckTerminal reports whether the terminal the program was started in is of a
// type that can be drawn on; the error names the type.
func CheckTerminal() error {
	if _, err := tcell.NewScreen(); err != nil {
		return fmt.Errorf("terminal type %q is not known here", os.Getenv("TERM"))
	}
	return nil
}

// openScreen makes a screen ready, for nil that of the terminal with its line.
func openScreen(screen tcell.Screen) (tcell.Screen, *frugalLine, error) {
	line, err := newLine(nil), error(nil) // on which nothing is sent
	if screen == nil {
		screen, line, err = terminalScreen()
	}
	tcell.SetEncodingFallback(tcell.EncodingFallbackASCII) // of a character set that is not known here
	if err == nil {
		err = screen.Init()
	}
	if err != nil {
		return nil, nil, fmt.Errorf("open the terminal: %w", err)
	}
	for plain, others := range plainRunes {
		for _, r := range others {
			screen.RegisterRuneFallback(r, string(plain))
		}
	}
	return screen, line, nil
}

// A steadyScreen keeps what is on it from frame to frame. tview clears the
// screen before each draw, after which tcell sends every character anew, not
// only those that changed; the panel writes all that changed itself.
type steadyScreen struct{ tcell.Screen }

// Clear does nothing.
func (steadyScreen) Clear() {}

// Init does nothing: the screen is ready, and tview would drop the error.
func (steadyScreen) Init() error { return nil }
