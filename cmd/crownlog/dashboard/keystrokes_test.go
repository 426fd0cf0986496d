package dashboard

import (
	"fmt"
	"math"
	"strings"
	"testing"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A bench is a whole job at the keys of the screen: rounds without gauges or
// with an indicator that simulated hands move, one after the other. It counts the
// keys that are pressed.
type bench struct {
	t        *testing.T
	sheet    sheet.Sheet
	captures []record.Capture
	round    *logger.Round
	panel    *panel
	at       time.Time
	keys     int

	knocked float64 // mm that the base was
	inches  bool    // the indicator's unit key was pressed
	puts    int
	see     func() // looks at the screen now and then; nil: nobody does
}

// Append implements record.Store.
func (b *bench) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(b.captures) + 1
	b.captures = append(b.captures, c)
	return c, nil
}

// Captures implements record.Store.
func (b *bench) Captures() []record.Capture { return b.captures }

func (b *bench) job() job.Job { return job.Job{Sheet: b.sheet, Captures: b.captures} }

// dialled are what the indicator reads.
var dialled = map[string]bool{
	record.FeatureBacklash: true, record.FeatureRunoutBackFace: true, record.FeatureRunoutFlange: true,
}

// open starts the round of the next step.
func (b *bench) open() {
	step, ok := b.job().Next()
	require.True(b.t, ok)
	b.openAt(step.Stage, step.Feature, false)
	require.Empty(b.t, b.round.Held(), "%s, %s", step.Feature, step.Stage)
}

// openAt starts the round of a feature in a stage; again: from its first place.
func (b *bench) openAt(stage, name string, again bool) {
	b.at = b.at.Add(time.Minute)
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: b.sheet, Stage: stage, Feature: name, Store: b, HandsOff: true, Again: again,
		Keyed: !dialled[name] && name != record.FeatureLeakDown, Resolution: 0.001, Now: func() time.Time { return b.at },
	})
	require.NoError(b.t, err)
	require.NoError(b.t, round.Hold())
	b.round = round
	b.panel.show(round.View())
}

func newBench(t *testing.T) *bench {
	b := &bench{t: t, sheet: sheet.Example(), at: sceneTime}
	src := Source{
		Latest: func() logger.View { return logger.View{Current: -1} },
		Command: func(c logger.Command) {
			require.NoError(t, b.round.Command(c))
			b.panel.show(b.round.View())
		},
		Job: func() JobView {
			return JobView{Steps: b.job().Steps(), Holds: job.HoldPoints(b.sheet, b.captures)}
		},
		Next: func(r job.Request) {
			if r.Again {
				b.openAt(r.Stage, r.Feature, true)
			} else {
				b.open()
			}
		},
	}
	b.panel = newPanel(src, func() {})
	b.open()
	return b
}

// press presses keys; \r is enter.
func (b *bench) press(keys string) {
	for _, r := range keys {
		b.keys++
		if r == '\r' {
			b.panel.key(tcell.NewEventKey(tcell.KeyEnter, 0, 0))
			continue
		}
		b.panel.key(tcell.NewEventKey(tcell.KeyRune, r, 0))
	}
}

// put is one reading of the indicator.
func (b *bench) put(x float64) {
	b.at = b.at.Add(20 * time.Millisecond)
	rd := device.Reading{Time: b.at, Gauge: "indicator", Value: math.Round(1000*(x+b.knocked)) / 1000, Unit: "mm"}
	rd.Raw = fmt.Sprintf("%.3f mm", rd.Value)
	if b.inches {
		rd.Value, rd.Unit = math.Round(1e5*(x+b.knocked)/25.4)/1e5, "in"
		rd.Raw = fmt.Sprintf("%.5f in", rd.Value)
	}
	require.NoError(b.t, b.round.Handle(device.Event{Kind: device.EventReading, Time: b.at, Gauge: "indicator", Reading: rd}))
	if b.puts++; b.see != nil && b.puts%20 == 0 {
		b.see()
	}
}

// to moves the plunger and rests there.
func (b *bench) to(from, x, seconds float64) {
	for i := range 12 {
		b.put(from + (x-from)*float64(i)/12)
	}
	for i := range int(seconds * 50) {
		b.put(x + 0.0008*math.Sin(float64(i*i)))
	}
}

// rockAll rocks every tooth, and lifts the plunger after each bell.
func (b *bench) rockAll(backlash float64) {
	for n := range 40 {
		if b.round.Done() {
			return
		}
		if v := b.round.View(); v.State == logger.StateCaptured {
			b.to(0, 3.5, 1.5)
			b.to(3.5, 0, 0.5)
		}
		for range 3 {
			b.to(0, backlash+0.001*float64(n%2), 0.6)
			b.to(backlash+0.001*float64(n%2), 0, 0.6)
		}
	}
	b.t.Fatal("the backlash does not come to its end: " + b.round.View().Action)
}

// turnAll turns the wheel from place to place; the first is taken by key.
func (b *bench) turnAll() {
	last := 0.0
	b.to(0, 0, 2)
	b.press(" ")
	for n := 1; !b.round.Done() && n < 40; n++ {
		next := 0.02 * math.Sin(float64(n)*math.Pi/4)
		b.to(last, next+0.05, 0)
		b.to(next+0.05, next, 2)
		last = next
	}
}

// leak lets the air stand, read by a gauge.
func (b *bench) leak() {
	for n := 0; n < 3600 && !b.round.Done(); n++ {
		b.at = b.at.Add(time.Second)
		x := math.Round(10*(690-0.001*float64(n)+0.1*math.Sin(float64(n*n)))) / 10
		require.NoError(b.t, b.round.Handle(device.Event{
			Kind: device.EventReading, Time: b.at, Gauge: "air",
			Reading: device.Reading{Time: b.at, Gauge: "air", Raw: fmt.Sprint(x), Value: x, Unit: "kPa"},
		}))
		require.NoError(b.t, b.round.Tick(b.at))
	}
}

// measure does what the step at hand asks for, with an indicator at the gear, a
// wrench that clicks, and what else there is read by eye.
func (b *bench) measure() {
	v := b.round.View()
	switch v.Feature {
	case record.FeatureBacklash:
		b.rockAll(0.155)
	case record.FeatureRunoutBackFace, record.FeatureRunoutFlange:
		b.turnAll()
	case record.FeatureWheelBolts, record.FeatureCapBolts:
		for i := 0; i < 40 && !b.round.Done(); i++ {
			last := strings.Contains(b.round.View().Action, "(pass 3 of 3)") || strings.Contains(b.round.View().Action, "(pass 2 of 2)")
			b.press(map[bool]string{false: "a", true: "\r"}[last])
		}
	case record.FeaturePreloadPinion, record.FeaturePreloadTotal:
		b.press("1.9\r")
	case record.FeaturePatternDrive, record.FeaturePatternCoast:
		b.press("\r")
	case record.FeatureLeakDown:
		b.leak()
	case record.FeatureEngagement, record.FeatureCloseUp:
		for i := 0; i < 40 && !b.round.Done(); i++ {
			b.press("y")
		}
	case record.FeatureOilFill:
		b.press("1.9\r")
	}
	require.True(b.t, b.round.Done(), "%s, %s: %s %s", v.Feature, v.Stage, b.round.View().Alert, b.round.View().Action)
}

// wholeJob goes from step to step to the end; see is called before and after each.
func (b *bench) wholeJob(see func()) {
	for range 60 {
		see()
		b.measure()
		see()
		if _, more := b.job().Next(); !more {
			return
		}
		b.press("n")
	}
	b.t.Fatal("the job does not end")
}

// TestWholeJobInFewKeys goes through a clean job as a fitter does.
func TestWholeJobInFewKeys(t *testing.T) {
	b := newBench(t)
	b.wholeJob(func() { b.shown(80, 24) })
	assert.LessOrEqual(t, b.keys, 60)
	assert.Contains(t, b.shown(80, 24), "COMPLETE")
}

// TestNothingIsCut: what a step asks for and warns of stands whole on the smallest
// screen, as it does on the largest.
func TestNothingIsCut(t *testing.T) {
	b := newBench(t)
	b.wholeJob(func() {
		screen := b.shown(80, 24)
		read := strings.Join(strings.Fields(screen), " ")
		v := b.round.View()
		if !record.IsPattern(v.Feature) || v.State == logger.StateDone { // which is drawn, not typed
			assert.Contains(t, read, v.Action, "%s, %s:\n%s", v.Feature, v.Stage, screen)
		}
		if v.State != logger.StateDone {
			assert.Contains(t, read, v.Caution, "%s, %s:\n%s", v.Feature, v.Stage, screen)
		}
		_, below, _ := strings.Cut(screen, "\n") // whose job may be cut
		assert.NotContains(t, below, "…", screen)
	})
}
