package dashboard

import (
	"context"
	"fmt"
	"runtime/debug"
	"time"

	"github.com/rivo/tview"

	"crownlog/logger"
)

// A feeder is the one goroutine that queues paints and stops the application.
// It sees at most one view a frame and always the last one.
type feeder struct {
	app   *tview.Application
	panel *panel
	line  *frugalLine // to the terminal
	ended chan string // what a view function panicked with and where; ""

	counts [3]int    // last seen
	rings  int       // of the bell, still to come
	next   time.Time // when
}

func (f *feeder) run(ctx context.Context) {
	defer func() {
		panicked := ""
		if p := recover(); p != nil {
			panicked = fmt.Sprintf("%v\n\n%s", p, debug.Stack())
		}
		f.app.Stop()
		f.ended <- panicked
	}()
	stops, end := stopRequests()
	defer end()
	for {
		began := time.Now()
		var bell <-chan time.Time
		if f.rings > 0 {
			bell = time.After(time.Until(f.next))
		}
		select {
		case <-ctx.Done():
			return
		case <-stops:
			f.stop()
		case <-f.line.more:
		case <-bell:
			f.rings, f.next = f.rings-1, time.Now().Add(bellEvery)
			f.app.QueueUpdate(func() { _ = f.panel.screen.Beep() })
			continue
		case <-f.panel.src.Wake:
			began = time.Now()
			f.paint()
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(paintEvery - time.Since(began)):
		}
		f.line.send(ctx)
	}
}

// stop puts the terminal back, stops the program, and takes the terminal again
// when the program is continued.
func (f *feeder) stop() {
	f.app.QueueUpdateDraw(func() {
		f.app.Suspend(stopHere)
		f.panel.before = canvas{} // the screen is blank: all is to be written
	})
}

// paint queues one paint of the newest view, and what is to ring for it: once for
// a capture, twice for going back, three times for a fault, which goes before. A new
// round counts from the start again, in silence.
func (f *feeder) paint() {
	v := f.panel.src.Latest()
	counts := countsOf(v)
	for i, n := range counts {
		if n > f.counts[i] {
			f.rings = max(f.rings, i+1)
		}
	}
	f.counts = counts
	f.app.QueueUpdateDraw(func() { f.panel.show(v) })
}

// bellEvery is the time between two bells of one alarm: closer ones a terminal runs
// together.
const bellEvery = 6 * paintEvery

// countsOf are the captures, the times of going back and the faults of a view.
func countsOf(v logger.View) [3]int { return [3]int{v.Bell, v.Back, v.Alarm} }
