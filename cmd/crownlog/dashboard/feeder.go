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
	app      *tview.Application
	panel    *panel
	line     *frugalLine // to the terminal; nil: a screen without one
	done     chan struct{}
	panicked string // what a view function panicked with and where, once done is closed

	bells bells
}

func (f *feeder) run(ctx context.Context) {
	defer close(f.done)
	defer func() {
		if p := recover(); p != nil {
			f.panicked = fmt.Sprintf("%v\n\n%s", p, debug.Stack())
		}
	}()
	defer f.app.Stop()
	wake := f.panel.src.Wake
	stops, end := stopRequests()
	defer end()
	var left <-chan struct{} // of a frame, on the line
	if f.line != nil {
		left = f.line.more
	}
	for {
		began := time.Now()
		if f.bells.busy() { // a bell or a flash does not wait for a view
			select {
			case <-wake:
				f.paintLatest()
			default:
				f.paint(nil)
			}
		} else {
			select {
			case <-ctx.Done():
				return
			case <-stops:
				f.stop()
			case <-left:
			case <-wake:
				began = time.Now()
				f.paintLatest()
			}
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(paintEvery - time.Since(began)):
		}
		if f.line != nil {
			f.line.send(ctx)
		}
	}
}

// stop puts the terminal back, stops the program, and takes the terminal again
// when the program is continued.
func (f *feeder) stop() {
	f.app.QueueUpdateDraw(func() {
		f.app.Suspend(stopHere)
		f.panel.canvas, f.panel.before = canvas{}, canvas{} // the screen is blank: all is to be written
	})
}

func (f *feeder) paintLatest() {
	v := f.panel.src.Latest()
	f.bells.note(v)
	f.paint(&v)
}

// paint queues one paint, of a new view or of the one shown, with the bell
// that is due.
func (f *feeder) paint(v *logger.View) {
	ring, lit := f.bells.tick()
	if v == nil && !ring && lit == f.bells.shown {
		return
	}
	f.bells.shown = lit
	f.app.QueueUpdateDraw(func() {
		if v != nil {
			f.panel.show(*v)
		}
		f.panel.lit = lit
		if ring {
			f.panel.screen.Beep()
		}
	})
}

// Bells of one alarm stand this many frames apart, or a terminal runs them
// together; a capture lights the header for as many.
const (
	bellFrames = 6
	litFrames  = 9
)

// bells turns the counts of a view into single rings and a flash.
type bells struct {
	seen  [3]int // counts last seen
	rings int    // still to ring
	wait  int    // frames until the next ring
	lit   int    // frames the header stays lit
	shown bool
}

// counted are the captures, the times of going back, and the faults of a view.
func counted(v logger.View) [3]int { return [3]int{v.Bell, v.Back, v.Alarm} }

// note keeps what is to ring: once for a capture, twice for going back, three
// times for a fault, which goes before. A new round counts from the start again, in silence.
func (b *bells) note(v logger.View) {
	for i, n := range counted(v) {
		if n > b.seen[i] {
			b.rings = max(b.rings, i+1)
			if i == 0 {
				b.lit = litFrames
			}
		}
	}
	b.seen = counted(v)
}

func (b *bells) busy() bool { return b.rings > 0 || b.lit > 0 || b.wait > 0 || b.shown }

// tick is one frame: whether to ring now and whether the header is lit.
func (b *bells) tick() (ring, lit bool) {
	if b.wait > 0 {
		b.wait--
	} else if b.rings > 0 {
		b.rings--
		b.wait = bellFrames
		ring = true
	}
	if b.lit > 0 {
		b.lit--
		lit = true
	}
	return ring, lit
}
