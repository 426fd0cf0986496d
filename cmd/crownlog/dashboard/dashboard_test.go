package dashboard

import (
	"context"
	"fmt"
	"os"
	"os/signal"
	"slices"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"crownlog/logger"
	"crownlog/logger/job"
)

func TestMain(m *testing.M) {
	c := make(chan os.Signal, 1)
	signal.Notify(c, os.Interrupt) // its goroutine begins here, or the first test of a screen would wait for it
	signal.Stop(c)
	goleak.VerifyTestMain(m)
}

// A testScreen keeps its size through Init and counts what a person would
// notice.
type testScreen struct {
	tcell.SimulationScreen
	w, h         int
	beeps, shows atomic.Int32
	finis, sets  atomic.Int32

	mu    sync.Mutex // over what stood on the screen after the last Show
	cells []tcell.SimCell
	cw    int
}

func newTestScreen(charset string, w, h int) *testScreen {
	return &testScreen{SimulationScreen: tcell.NewSimulationScreen(charset), w: w, h: h}
}

func (s *testScreen) Init() error {
	err := s.SimulationScreen.Init()
	s.SetSize(s.w, s.h)
	return err
}

func (s *testScreen) Beep() error { s.beeps.Add(1); return s.SimulationScreen.Beep() }
func (s *testScreen) SetContent(x, y int, r rune, comb []rune, st tcell.Style) {
	s.sets.Add(1)
	s.SimulationScreen.SetContent(x, y, r, comb, st)
}

func (s *testScreen) Fini() { s.finis.Add(1); s.SimulationScreen.Fini() }

func (s *testScreen) Show() {
	s.shows.Add(1)
	s.SimulationScreen.Show()
	cells, w, _ := s.GetContents()
	s.mu.Lock()
	defer s.mu.Unlock()
	s.cells, s.cw = slices.Clone(cells), w
}

// shown is what stood on the screen after the last Show.
func (s *testScreen) shown() (cells []tcell.SimCell, w, h int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.cells, s.cw, len(s.cells) / max(s.cw, 1)
}

// text is what stands on the screen, without trailing blanks.
func (s *testScreen) text() string {
	cells, w, h := s.shown()
	var b strings.Builder
	for y := range h {
		var line strings.Builder
		for x := range w {
			line.Write(cells[y*w+x].Bytes)
		}
		b.WriteString(strings.TrimRight(line.String(), " ") + "\n")
	}
	return b.String()
}

// A rig is a running dashboard fed by the test.
type rig struct {
	screen   *testScreen
	view     atomic.Pointer[logger.View]
	wake     chan struct{}
	commands []logger.Command
	requests []job.Request
	done     chan error
	cancel   context.CancelFunc
	source   Source
}

// newRig prepares a dashboard; change its source, then start it.
func newRig(screen *testScreen, v logger.View) *rig {
	r := &rig{screen: screen, wake: make(chan struct{}, 1), done: make(chan error, 1)}
	r.view.Store(&v)
	r.source = Source{
		Latest:  func() logger.View { return *r.view.Load() },
		Wake:    r.wake,
		Command: func(c logger.Command) { r.commands = append(r.commands, c) },
	}
	return r
}

// newJobRig prepares a dashboard on which the job can go on.
func newJobRig(v logger.View) *rig {
	r := newRig(newTestScreen("UTF-8", 80, 24), v)
	r.source.Job = jobScene
	r.source.Next = func(next job.Request) { r.requests = append(r.requests, next) }
	return r
}

func (r *rig) start() {
	ctx, cancel := context.WithCancel(context.Background())
	r.cancel = cancel
	go func() { r.done <- Run(ctx, r.screen, r.source) }()
	synctest.Wait()
}

func (r *rig) show(v logger.View) {
	r.view.Store(&v)
	select {
	case r.wake <- struct{}{}:
	default:
	}
}

// settle lets the frame clock run until nothing is left to paint.
func (r *rig) settle() {
	time.Sleep(2 * time.Second)
	synctest.Wait()
}

func (r *rig) key(k tcell.Key, c rune) {
	r.screen.InjectKey(k, c, tcell.ModNone)
	synctest.Wait()
}

func (r *rig) keys(s string) {
	for _, c := range s {
		r.key(tcell.KeyRune, c)
	}
}

func (r *rig) stop(t *testing.T) {
	r.cancel()
	synctest.Wait()
	require.NoError(t, <-r.done)
}

func TestScreenShowsEveryScene(t *testing.T) {
	for _, s := range scenes {
		for _, z := range sizes {
			name := fmt.Sprintf("%s-%dx%d", s.name, z.w, z.h)
			t.Run(name, func(t *testing.T) {
				synctest.Test(t, func(t *testing.T) {
					r := newRig(newTestScreen("UTF-8", z.w, z.h), waitingScene())
					r.start()
					r.show(s.view)
					r.settle()
					want := screenText(s.view, z.w, z.h)
					got := r.screen.text()
					r.stop(t)
					assert.Equal(t, want, got)
				})
			})
		}
	}
}

func TestResizeWhileRunning(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start()
		for _, z := range []struct{ w, h int }{{250, 70}, {60, 15}, {20, 6}, {3, 2}, {100, 30}, {80, 24}} {
			r.screen.SetSize(z.w, z.h)
			require.NoError(t, r.screen.PostEvent(tcell.NewEventResize(z.w, z.h)))
			r.settle()
			assert.Equal(t, screenText(measuringScene(), z.w, z.h), r.screen.text(), "%dx%d", z.w, z.h)
		}
		r.stop(t)
	})
}

func TestQuitKeysEndRun(t *testing.T) {
	for _, k := range []struct {
		name string
		key  tcell.Key
		r    rune
	}{{"q", tcell.KeyRune, 'q'}, {"ctrl-c", tcell.KeyCtrlC, 0}} {
		t.Run(k.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
				r.start()
				r.key(k.key, k.r)
				r.settle()
				require.NoError(t, <-r.done)
				assert.EqualValues(t, 1, r.screen.finis.Load(), "the terminal is restored")
				r.cancel()
			})
		})
	}
}

func TestCancelBeforeTheFirstPaint(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
	require.NoError(t, Run(ctx, r.screen, r.source))
	assert.EqualValues(t, 1, r.screen.finis.Load())
}

func TestViewPanicRestoresTheTerminal(t *testing.T) {
	r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
	calls := 0
	r.source.Latest = func() logger.View {
		if calls++; calls > 1 {
			panic("broken view")
		}
		return measuringScene()
	}
	r.wake <- struct{}{}
	defer func() {
		assert.Contains(t, recover(), "broken view\n\ngoroutine")
		assert.EqualValues(t, 1, r.screen.finis.Load())
	}()
	_ = Run(context.Background(), r.screen, r.source)
	t.Error("Run returned")
}

func TestPaintsAreFewAndTheLastViewIsShown(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start()
		before := r.screen.shows.Load()
		v := measuringScene()
		for i := range 400 { // a second of four gauges at 100 Hz
			v.Reading = float64(i) / 1000
			r.show(v)
			time.Sleep(2500 * time.Microsecond)
		}
		r.settle()
		paints := r.screen.shows.Load() - before
		got := r.screen.text()
		r.stop(t)
		assert.LessOrEqual(t, paints, int32(32))
		assert.GreaterOrEqual(t, paints, int32(25))
		assert.Equal(t, screenText(v, 80, 24), got)
	})
}

func TestBellsDoNotHoldUpViews(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := measuringScene()
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.start()
		before := r.screen.shows.Load()
		for range 400 { // an alarm with every view: there is always a bell to come
			v.Alarm++
			r.show(v)
			time.Sleep(2500 * time.Microsecond)
		}
		paints := r.screen.shows.Load() - before
		r.stop(t)
		assert.GreaterOrEqual(t, paints, int32(28))
	})
}

func TestBells(t *testing.T) {
	for _, c := range []struct {
		name                 string
		bells, backs, alarms int
		want                 int32
	}{
		{"a capture rings once", 1, 0, 0, 1},
		{"going back rings twice", 0, 1, 0, 2},
		{"a fault rings three times", 0, 0, 1, 3},
		{"a fault goes before a capture", 1, 0, 1, 3},
		{"nothing new is silent", 0, 0, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				v := measuringScene()
				v.Bell, v.Back, v.Alarm = 7, 1, 2 // counted before the screen came up
				r := newRig(newTestScreen("UTF-8", 80, 24), v)
				r.start()
				v.Bell, v.Back, v.Alarm = 7+c.bells, 1+c.backs, 2+c.alarms
				r.show(v)
				r.settle()
				r.stop(t)
				assert.Equal(t, c.want, r.screen.beeps.Load())
			})
		})
	}
}

func TestCaptureLightsTheHeader(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start()
		header := func() tcell.Style {
			cells, _, _ := r.screen.shown()
			return cells[1].Style
		}
		usual := header()
		r.show(capturedScene())
		r.settle()
		lit := header()
		r.show(measuringScene())
		r.settle()
		after := header()
		r.stop(t)
		assert.NotEqual(t, usual, lit)
		assert.Equal(t, usual, after)
	})
}

func TestPlainTerminalGetsASCII(t *testing.T) {
	for _, scene := range scenes {
		synctest.Test(t, func(t *testing.T) {
			r := newRig(newTestScreen("US-ASCII", 80, 24), scene.view)
			r.start()
			got := r.screen.text()
			r.stop(t)
			for _, c := range got {
				require.Less(t, c, rune(0x80), "%s: %q", scene.name, c)
			}
			if scene.name == "measuring" {
				golden(t, "measuring-ascii-80x24", got)
			}
		})
	}
}

func TestOnlyChangesAreSent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start()
		r.screen.sets.Store(0)
		v := measuringScene()
		v.Stored++
		r.show(v)
		r.settle()
		sent := r.screen.sets.Load()
		got := r.screen.text()
		r.stop(t)
		assert.Equal(t, screenText(v, 80, 24), got)
		assert.Positive(t, sent)
		assert.Less(t, sent, int32(10), "one digit of the header changed")
	})
}

func TestRunReportsATerminalItCannotUse(t *testing.T) {
	t.Setenv("TERM", "no-such-terminal")
	r := newRig(nil, measuringScene())
	assert.Error(t, Run(context.Background(), nil, r.source))
}
