package dashboard

import (
	"context"
	"fmt"
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

	"crownlog/analysis"
	"crownlog/logger"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

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
			line.WriteString(string(cells[y*w+x].Runes))
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

func (r *rig) start(o Options) {
	ctx, cancel := context.WithCancel(context.Background())
	r.cancel = cancel
	go func() { r.done <- Run(ctx, r.screen, r.source, o) }()
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
					r.start(Options{})
					r.show(s.view)
					r.settle()
					want := screenText(s.view, z.w, z.h, Options{})
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
		r.start(Options{})
		for _, z := range []struct{ w, h int }{{250, 70}, {60, 15}, {20, 6}, {3, 2}, {100, 30}, {80, 24}} {
			r.screen.SetSize(z.w, z.h)
			require.NoError(t, r.screen.PostEvent(tcell.NewEventResize(z.w, z.h)))
			r.settle()
			assert.Equal(t, screenText(measuringScene(), z.w, z.h, Options{}), r.screen.text(), "%dx%d", z.w, z.h)
		}
		r.stop(t)
	})
}

func TestKeysBecomeCommands(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start(Options{})
		r.keys(" nburxp")
		r.key(tcell.KeyRight, 0)
		r.key(tcell.KeyLeft, 0)
		r.keys("zj") // mean nothing here
		r.stop(t)
		assert.Equal(t, []logger.Command{
			logger.CmdCapture, logger.CmdNext, logger.CmdBack, logger.CmdUndo, logger.CmdRedo,
			logger.CmdRetry, logger.CmdPause, logger.CmdNext, logger.CmdBack,
		}, r.commands)
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
				quits := 0
				r.source.Quit = func() { quits++ }
				r.start(Options{})
				r.key(k.key, k.r)
				r.settle()
				require.NoError(t, <-r.done)
				assert.Equal(t, 1, quits)
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
	require.NoError(t, Run(ctx, r.screen, r.source, Options{}))
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
	_ = Run(context.Background(), r.screen, r.source, Options{})
	t.Error("Run returned")
}

func TestPaintsAreFewAndTheLastViewIsShown(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start(Options{})
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
		assert.Equal(t, screenText(v, 80, 24, Options{}), got)
	})
}

func TestBellsDoNotHoldUpViews(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := measuringScene()
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.start(Options{Bell: true})
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
		name          string
		bell          bool
		bells, alarms int
		want          int32
	}{
		{"a capture rings once", true, 1, 0, 1},
		{"a fault rings three times", true, 0, 1, 3},
		{"a fault goes before a capture", true, 1, 1, 3},
		{"nothing new is silent", true, 0, 0, 0},
		{"silent where asked", false, 1, 1, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				v := measuringScene()
				v.Bell, v.Alarm = 7, 2 // counted before the screen came up
				r := newRig(newTestScreen("UTF-8", 80, 24), v)
				r.start(Options{Bell: c.bell})
				v.Bell, v.Alarm = 7+c.bells, 2+c.alarms
				r.show(v)
				r.settle()
				r.stop(t)
				assert.Equal(t, c.want, r.screen.beeps.Load())
			})
		})
	}
}

func TestCaptureLightsTheHeaderForAMoment(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start(Options{})
		header := func() tcell.Style {
			cells, _, _ := r.screen.shown()
			return cells[1].Style
		}
		usual := header()
		r.show(capturedScene())
		time.Sleep(3 * frame)
		synctest.Wait()
		lit := header()
		r.settle()
		after := header()
		r.stop(t)
		assert.NotEqual(t, usual, lit)
		assert.Equal(t, usual, after)
	})
}

func TestPlainTerminalGetsASCII(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("US-ASCII", 80, 24), measuringScene())
		r.start(Options{})
		got := r.screen.text()
		r.stop(t)
		assert.Equal(t, screenText(measuringScene(), 80, 24, Options{ASCII: true}), got)
		for _, c := range got {
			require.Less(t, c, rune(0x80), "%q", c)
		}
	})
}

func TestNoColorUsesNoColor(t *testing.T) {
	for _, s := range newPalette(true, false) {
		fg, bg, _ := s.Decompose()
		assert.Equal(t, tcell.ColorDefault, fg)
		assert.Equal(t, tcell.ColorDefault, bg)
	}
}

func TestOnlyChangesAreSent(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start(Options{})
		r.screen.sets.Store(0)
		v := measuringScene()
		v.Stored++
		r.show(v)
		r.settle()
		sent := r.screen.sets.Load()
		got := r.screen.text()
		r.stop(t)
		assert.Equal(t, screenText(v, 80, 24, Options{}), got)
		assert.Positive(t, sent)
		assert.Less(t, sent, int32(10), "one digit of the header changed")
	})
}

func TestHelpAndJobPages(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		var hold, reason string
		r.source.Job = jobScene
		r.source.Override = func(h, why string) { hold, reason = h, why }
		r.start(Options{})
		r.keys("?")
		assert.Contains(t, r.screen.text(), "forget the rocks at this position")
		r.keys("n") // only closes the help
		assert.Contains(t, r.screen.text(), "Rock five times")
		r.keys("j")
		assert.Contains(t, r.screen.text(), "HOLD before set-up backlash")
		r.keys("o")
		r.key(tcell.KeyEnter, 0) // no reason, no override
		assert.Empty(t, hold)
		r.keys("gear q?x")
		r.key(tcell.KeyBackspace2, 0)
		assert.Contains(t, r.screen.text(), "> gear q?_")
		r.key(tcell.KeyEnter, 0)
		r.keys("j")
		assert.Contains(t, r.screen.text(), "Rock five times")
		r.stop(t)
		assert.Equal(t, "back-face-in-limit", hold)
		assert.Equal(t, "gear q?", reason)
		assert.Empty(t, r.commands)
	})
}

func TestTypedValue(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.source.Division = 0.01
		r.start(Options{})
		r.keys("0,17x")
		r.key(tcell.KeyBackspace2, 0)
		assert.Contains(t, r.screen.text(), "value 0,17_")
		r.key(tcell.KeyEnter, 0)
		r.keys("7u")
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "unit \"u\" is not known")
		r.key(tcell.KeyEscape, 0)
		r.keys("-9")
		r.key(tcell.KeyEscape, 0)
		r.keys("7 thou")
		r.key(tcell.KeyEnter, 0)
		r.keys("3 1/2 div")
		r.key(tcell.KeyEnter, 0)
		r.keys("n")
		r.stop(t)
		assert.Equal(t, []logger.Command{
			logger.CmdKeyed(0.17, ""), logger.CmdKeyed(0.007, "in"), logger.CmdKeyed(0.035, "mm"), logger.CmdNext,
		}, r.commands)
	})
}

func TestTriesOfTheLock(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), base(logger.FeatureEngagement))
		r.start(Options{})
		assert.Contains(t, r.screen.text(), "y locked and freed")
		r.keys("y0.6")
		assert.Contains(t, r.screen.text(), "value yes 0.6_")
		r.key(tcell.KeyEnter, 0)
		for _, key := range "ylf" {
			r.keys(string(key))
			r.key(tcell.KeyEnter, 0)
		}
		r.stop(t)
		assert.Equal(t, []logger.Command{
			logger.CmdKeyed(0.6, "s"), logger.CmdKeyed(1, "freed"), logger.CmdKeyed(0, "locked"), logger.CmdKeyed(0, "freed"),
		}, r.commands)
	})
}

func TestAirTestTypedInOneLine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), base(logger.FeatureLeakDown))
		r.start(Options{})
		r.keys("690 688 kPa 10 min")
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []logger.Command{
			logger.CmdKeyed(690, "kPa"), logger.CmdKeyed(688, "kPa"), logger.CmdKeyed(10, "min"),
		}, r.commands)
	})
}

func TestOverrideOfWhatTheRoundBlocks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), boltsScene())
		r.start(Options{})
		r.keys("o")
		r.key(tcell.KeyEnter, 0) // no reason, no override
		assert.Empty(t, r.commands)
		r.keys("bolt 7 was missed")
		assert.Contains(t, r.screen.text(), "reason bolt 7 was missed_")
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []logger.Command{logger.CmdOverride("bolt 7 was missed")}, r.commands)
	})
}

func TestDoneRoundTellsTheMoveBefore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), doneScene())
		r.source.Job = jobScene
		r.start(Options{})
		got := r.screen.text()
		r.stop(t)
		assert.Contains(t, got, "last +1: expected 0.189 ±0.012, got 0.186")
		assert.Contains(t, got, "OUT 1")
	})
}

func TestPatternEntry(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := base(logger.FeaturePatternCoast)
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.source.Pattern = &PatternEntry{Form: "tapered", Drive: &analysis.Contact{Along: -0.6}}
		r.start(Options{})
		r.key(tcell.KeyLeft, 0)
		r.key(tcell.KeyLeft, 0)
		r.key(tcell.KeyUp, 0)
		r.key(tcell.KeyEnter, 0)
		assert.NotContains(t, r.screen.text(), "COAST  central ✓ stored", "not on record yet")
		v.Positions = []logger.PositionView{{Value: -0.2}, {Value: 0.1}}
		r.show(v)
		r.settle()
		assert.Contains(t, r.screen.text(), "COAST  central ✓ stored")
		assert.Contains(t, r.screen.text(), "DRIVE  toe ✓ stored")
		r.stop(t)
		assert.Equal(t, []logger.Command{logger.CmdPattern(-0.2, 0.1)}, r.commands)
	})
}

func TestPatternOpenedAgainShowsWhatIsStored(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := base(logger.FeaturePatternDrive)
		v.Positions = []logger.PositionView{{Value: 0.6}, {Value: 0}}
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.start(Options{})
		assert.Contains(t, r.screen.text(), "DRIVE  heel ✓ stored")
		for range 12 {
			r.key(tcell.KeyLeft, 0)
		}
		assert.Contains(t, r.screen.text(), "DRIVE  toe")
		r.show(base(logger.FeatureBacklash))
		r.settle()
		r.show(v)
		r.settle()
		assert.Contains(t, r.screen.text(), "DRIVE  heel ✓ stored")
		r.stop(t)
	})
}

func TestEverySizePaints(t *testing.T) {
	for _, s := range scenes {
		for w := 0; w < 260; w += 7 {
			for h := 0; h < 80; h += 3 {
				for _, ascii := range []bool{false, true} {
					c := newCanvas(w, h, ascii)
					paintRound(c, roundScene{View: s.view})
				}
			}
		}
	}
	for w := range 120 {
		for h := range 40 {
			c := newCanvas(w, h, false)
			paintJob(c, jobScene(), jobState{typing: true, reason: strings.Repeat("why ", 40)})
			paintPattern(c, base(logger.FeaturePatternDrive), PatternEntry{}, patternState{}, "")
			paintHelp(c, "Mind your fingers.")
		}
	}
}

func TestRunReportsATerminalItCannotUse(t *testing.T) {
	t.Setenv("TERM", "no-such-terminal")
	r := newRig(nil, measuringScene())
	assert.Error(t, Run(context.Background(), nil, r.source, Options{}))
}

func TestFinishedRoundGoesOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), insideScene())
		var turns []Turn
		r.source.Job = jobScene
		r.source.GoOn = func(turn Turn) { turns = append(turns, turn) }
		r.start(Options{})
		assert.Contains(t, r.screen.text(), "Press n for run-out of the back face, bench, or j to choose.")
		r.keys("n")
		r.stop(t)
		assert.Equal(t, []Turn{{}}, turns)
		assert.Empty(t, r.commands)
	})
}

func TestMoveIsRecordedAsAdvisedOrAsTyped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), doneScene())
		var turns []Turn
		r.source.Job = jobScene
		r.source.GoOn = func(turn Turn) { turns = append(turns, turn) }
		r.start(Options{})
		r.keys("m")
		assert.Contains(t, r.screen.text(), "moved +1_")
		r.key(tcell.KeyEnter, 0)
		r.keys("m")
		r.key(tcell.KeyBackspace2, 0)
		r.keys("x")
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "how far, with its sign")
		r.key(tcell.KeyBackspace2, 0)
		r.keys("2 mm")
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "without a unit")
		for range " mm" {
			r.key(tcell.KeyBackspace2, 0)
		}
		r.key(tcell.KeyEnter, 0)
		for _, how := range []string{" not seated", " Reversed", " not seated, reversed", " reversed not seated"} {
			r.keys("m" + how)
			r.key(tcell.KeyEnter, 0)
		}
		r.stop(t)
		both := Turn{Moved: logger.Move{Amount: 1, Unseated: true, Reversed: true}}
		assert.Equal(t, []Turn{
			{Moved: logger.Move{Amount: 1}}, {Moved: logger.Move{Amount: 2}},
			{Moved: logger.Move{Amount: 1, Unseated: true}}, {Moved: logger.Move{Amount: 1, Reversed: true}}, both, both,
		}, turns)
	})
}

func TestMoveKeyDoesNothingDuringARound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.source.Job = jobScene
		r.source.GoOn = func(Turn) { t.Error("went on") }
		r.start(Options{})
		r.keys("mn")
		r.stop(t)
		assert.Equal(t, []logger.Command{logger.CmdNext}, r.commands)
	})
}

func TestStepIsChosenInTheJobView(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		var turns []Turn
		r.source.Job = jobScene
		r.source.GoOn = func(turn Turn) { turns = append(turns, turn) }
		r.start(Options{})
		r.keys("j")
		for range 2 {
			r.key(tcell.KeyUp, 0)
		}
		r.key(tcell.KeyDown, 0)
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "Rock five times", "back on the round")
		r.keys("j")
		for range 40 {
			r.key(tcell.KeyDown, 0)
		}
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []Turn{
			{Stage: logger.StageBench, Feature: logger.FeatureWheelBolts},
			{Stage: logger.StageFinal, Feature: logger.FeatureOilFill},
		}, turns)
	})
}

func TestNothingIsTypedOnAResult(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), insideScene())
		r.start(Options{})
		r.keys("0.19")
		r.key(tcell.KeyEnter, 0)
		assert.NotContains(t, r.screen.text(), "value")
		r.stop(t)
		assert.Empty(t, r.commands)
	})
}

func TestTryOfTheLockIsTypedAsItIsSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := base(logger.FeatureEngagement)
		around(&v, 3, 0)
		v.Typed = "s"
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.start(Options{})
		r.keys("yes")
		r.key(tcell.KeyEnter, 0)
		r.keys("y0.6")
		r.key(tcell.KeyEnter, 0)
		r.keys("lock")
		assert.Contains(t, r.screen.text(), "value no lock_")
		assert.NotContains(t, r.screen.text(), "if you name none")
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		require.Len(t, r.commands, 3)
		assert.Contains(t, string(r.commands[1]), "0.6")
	})
}
