package logger

import (
	"errors"
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/device"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A wrenchTrace makes the readings of a torque wrench.
type wrenchTrace struct {
	at     time.Time
	unit   string
	scale  float64 // of unit in N·m
	events []device.Event
}

func newWrench() *wrenchTrace { return &wrenchTrace{at: testTime, unit: "N·m", scale: 1} }

func (w *wrenchTrace) put(nm float64) {
	w.at = w.at.Add(10 * time.Millisecond)
	v := math.Round(nm/w.scale*10) / 10
	w.events = append(w.events, device.Event{Kind: device.EventReading, Time: w.at, Gauge: "wrench",
		Reading: device.Reading{Time: w.at, Gauge: "wrench", Raw: fmt.Sprint(v), Value: v, Unit: w.unit}})
}

// pull rises to the peak in a second and lets go.
func (w *wrenchTrace) pull(peak float64) {
	for i := range 100 {
		w.put(peak * float64(i+1) / 100)
	}
	for range 5 {
		w.put(peak)
	}
	for i := range 20 {
		w.put(peak * float64(19-i) / 20)
	}
	for range 50 {
		w.put(0)
	}
}

func (w *wrenchTrace) take() []device.Event {
	ev := w.events
	w.events = nil
	return ev
}

func boltRound(t *testing.T, store *memoryStore, c RoundConfig) *played {
	c.Stage, c.Feature = record.StageBench, record.FeatureWheelBolts
	return play(t, store, c)
}

func TestBoltsInSequenceAndPasses(t *testing.T) {
	w := newWrench()
	p := boltRound(t, &memoryStore{}, RoundConfig{})
	assert.Equal(t, "Pull bolt 1 to 29.4 N·m (pass 1 of 3).", p.View().Action)
	for _, share := range []float64{0.3, 0.6, 1} {
		for range 10 {
			w.pull(98 * share)
		}
	}
	p.feed(w.take())
	require.True(t, p.Done())
	require.Len(t, p.store.captures, 30)
	var order []int
	for _, c := range p.store.captures[:10] {
		order = append(order, c.Position)
	}
	// The order of a ten-bolt star is common practice.
	assert.Equal(t, []int{1, 6, 3, 8, 5, 10, 2, 7, 4, 9}, order)
	assert.Equal(t, record.Pass{N: 2, Of: 3, Percent: 60}, p.store.captures[10].Pass)
	last := p.store.captures[29]
	assert.InDelta(t, 98, last.Value, 0.2)
	assert.Equal(t, record.Pass{N: 3, Of: 3, Percent: 100}, last.Pass)
	v := p.View()
	assert.Equal(t, "inside", string(v.Positions[0].Verdict))
	assert.Len(t, v.Positions, 10)
	assert.Equal(t, 10, v.Round.N)
}

func TestBoltsContinueInTheRightPass(t *testing.T) {
	w := newWrench()
	store := &memoryStore{}
	p := boltRound(t, store, RoundConfig{})
	for range 13 {
		w.pull(98 * map[bool]float64{true: 0.3, false: 0.6}[len(w.events) < 10*175])
	}
	p.feed(w.take())
	require.Len(t, store.captures, 13)
	again := boltRound(t, store, RoundConfig{})
	assert.Equal(t, 13, again.View().Stored)
	assert.Equal(t, "Pull bolt 8 to 58.8 N·m (pass 2 of 3).", again.View().Action)
}

func TestShortAndOverAndDoublePulls(t *testing.T) {
	w := newWrench()
	p := boltRound(t, &memoryStore{}, RoundConfig{})
	w.pull(20)
	p.feed(w.take())
	assert.Empty(t, p.store.captures, "a short pull is not the bolt's torque")
	assert.Contains(t, p.View().Alert, "Short: 20.0 N·m of 29.4 N·m")
	w.pull(29.4)
	p.feed(w.take())
	require.Len(t, p.store.captures, 1)
	assert.Empty(t, p.View().Alert)
	w.pull(40)
	p.feed(w.take())
	require.Len(t, p.store.captures, 2)
	assert.Contains(t, p.View().Alert, "Bolt 6 went to 40.0 N·m")
}

func TestBoltsConvertAndCorrectAdapter(t *testing.T) {
	s := sheet.Example()
	s.Bolts[0].PassesPct = []int{100}
	s.Bolts[0].AdapterLength, s.Bolts[0].WrenchLength = 60, 400
	s.Bolts[0].Target = 100
	w := newWrench()
	w.unit, w.scale = "lbf·ft", 1.3558179483314004
	p := boltRound(t, &memoryStore{}, RoundConfig{Sheet: s})
	assert.Equal(t, "Pull bolt 1 to 87.0 N·m (pass 1 of 1).", p.View().Action)
	w.pull(87)
	p.feed(w.take())
	require.Len(t, p.store.captures, 1)
	assert.InDelta(t, 100, p.store.captures[0].Value, 0.3, "at the bolt, not at the wrench")
}

func TestRestrikeIsBlockedOnceTheLockerHasSet(t *testing.T) {
	s := sheet.Example()
	s.Bolts[0].PassesPct, s.Bolts[0].Count = []int{100}, 2
	w := newWrench()
	store := &memoryStore{}
	p := boltRound(t, store, RoundConfig{Sheet: s})
	w.pull(98)
	w.pull(98)
	p.feed(w.take())
	require.True(t, p.Done())

	w.at = w.at.Add(5 * time.Minute)
	soon := boltRound(t, store, RoundConfig{Sheet: s, Again: true})
	w.pull(98)
	soon.feed(w.take())
	assert.Len(t, store.captures, 3, "the locker is still wet")

	w.at = w.at.Add(20 * time.Minute)
	late := boltRound(t, store, RoundConfig{Sheet: s, Again: true})
	w.pull(98)
	late.feed(w.take())
	assert.Len(t, store.captures, 3)
	assert.Contains(t, late.View().Alert, "Blocked: the thread-locker's 10 minutes are over")
	require.NoError(t, late.Command(CmdOverride("x")))
	assert.Contains(t, late.View().Alert, "is no reason")
	assert.Len(t, store.captures, 3, "nothing is skipped for it")
	require.NoError(t, late.Command(CmdOverride("bolt was cross-threaded")))
	require.Len(t, store.captures, 4)
	assert.Equal(t, record.FeatureOverride, store.captures[3].Feature)
	assert.Contains(t, store.captures[3].Note, "bolt was cross-threaded")
	w.pull(98)
	late.feed(w.take())
	require.Len(t, store.captures, 5)
	assert.Equal(t, record.FeatureWheelBolts, store.captures[4].Feature)
}

// TestLockersClockStartsWithTheAssembly: a wheel that came off and was fitted up
// dry again has new locker, whose clock starts at its own first pull.
func TestLockersClockStartsWithTheAssembly(t *testing.T) {
	s := sheet.Example()
	s.Stages = append(s.StageList(), record.StageFitUp)
	s.Bolts[0].PassesPct, s.Bolts[0].Count = []int{100}, 2
	w, store := newWrench(), &memoryStore{}
	pull := func(want int, words string) {
		t.Helper()
		p := boltRound(t, store, RoundConfig{Sheet: s, Again: true})
		w.pull(98)
		p.feed(w.take())
		assert.Len(t, store.captures, want, words)
	}
	pull(1, "the first assembly")
	w.at = w.at.Add(time.Hour)
	pull(1, "its locker has set")
	_, err := store.Append(record.Blank(record.StageFitUp, record.FeatureRunoutBackFace, w.at))
	require.NoError(t, err)
	pull(3, "the second assembly")
	w.at = w.at.Add(5 * time.Minute)
	pull(4, "its locker is still wet")
	w.at = w.at.Add(6 * time.Minute)
	pull(4, "and now it has set, too")
}

func TestLateFirstPullsAreNotBlocked(t *testing.T) {
	s := sheet.Example()
	s.Bolts[0].PassesPct, s.Bolts[0].Count = []int{50, 100}, 1
	w := newWrench()
	p := boltRound(t, &memoryStore{}, RoundConfig{Sheet: s})
	w.pull(49)
	w.at = w.at.Add(time.Hour)
	w.pull(98)
	p.feed(w.take())
	assert.True(t, p.Done(), "a bolt still waiting for its last pass is let through")
}

func TestKeyedBolts(t *testing.T) {
	s := sheet.Example()
	s.Bolts[0].PassesPct, s.Bolts[0].Count = []int{50, 100}, 3
	p := boltRound(t, &memoryStore{}, RoundConfig{Sheet: s, Keyed: true})
	p.key(49, 49, 49, 98, 98, 112)
	require.True(t, p.Done())
	assert.Equal(t, "outside", string(p.View().Positions[p.store.captures[5].Position-1].Verdict))
}

// TestPullSurvivesAFullDisk: the bolt need not be pulled again once there is
// room, which would over-torque it.
func TestPullSurvivesAFullDisk(t *testing.T) {
	w := newWrench()
	store := &memoryStore{}
	p := boltRound(t, store, RoundConfig{})
	store.fail = journal.ErrDiskFull
	w.pull(29.4)
	var failed error
	for _, ev := range w.take() {
		failed = errors.Join(failed, p.Handle(ev))
	}
	require.ErrorIs(t, failed, journal.ErrDiskFull)
	assert.Contains(t, p.View().Alert, "NOT stored")
	store.fail = nil
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, store.captures, 1)
	assert.InDelta(t, 29.4, store.captures[0].Value, 0.1)
	assert.Equal(t, "Pull bolt 6 to 29.4 N·m (pass 1 of 3).", p.View().Action)
}

func TestOnlyTheBoltOutsideIsPulledAgain(t *testing.T) {
	store := &memoryStore{}
	sheet := sheet.Example()
	for i := range sheet.Bolts {
		sheet.Bolts[i].ThreadLocker = false
	}
	config := RoundConfig{Sheet: sheet, Stage: record.StageBench, Feature: record.FeatureWheelBolts, Keyed: true}
	p := play(t, store, config)
	for !p.Done() {
		v := p.visits[p.current]
		pull := v.Target
		if v.Place == 3 && v.Final {
			pull *= 1.17
		}
		p.key(pull)
	}
	require.Equal(t, gum.Outside, p.View().Verdict)
	assert.Contains(t, p.View().Reason, "bolt 4")

	config.Remeasure = true
	p = play(t, store, config)
	require.False(t, p.Done())
	assert.Contains(t, p.View().Action, "Pull bolt 4 to ")
	assert.Contains(t, p.View().Action, "pass 3 of 3")
	target := p.visits[p.current].Target
	p.key(target)
	require.True(t, p.Done())
	assert.Equal(t, gum.Inside, p.View().Verdict)
	require.NoError(t, p.Command(CmdUndo))
	assert.False(t, p.Done(), "the pull that was outside is not of this round")
	p.key(target)
	assert.True(t, p.Done())
	require.NoError(t, p.Command(CmdBack))
	assert.Contains(t, p.View().Action, "pass 3 of 3", "back from the result is the last pull")
	assert.Contains(t, p.View().Action, " is stored; ", "nobody is told to pull a bolt again that was pulled")
}

func TestUndoThatBringsBackTheLastCaptureEndsTheRound(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	for range 8 {
		p.key(0.16)
	}
	require.NoError(t, p.Command(CmdBack))
	p.key(0.17, 0.17) // the second time is the answer yes
	require.NoError(t, p.Command(CmdUndo))
	v := p.View()
	assert.Equal(t, StateDone, v.State, "the capture before stands again")
	assert.Equal(t, 0.16, v.Positions[7].Value)
}

// A round that goes on with the last pass listens by the torque of that one: a
// nudge that would be a pull of the first pass is none.
func TestResumedPullsListenByTheirOwnTarget(t *testing.T) {
	w, store := newWrench(), &memoryStore{}
	for _, share := range []float64{0.3, 0.6} {
		for range 10 {
			w.pull(98 * share)
		}
	}
	boltRound(t, store, RoundConfig{}).feed(w.take())
	require.Len(t, store.captures, 20)
	p := boltRound(t, store, RoundConfig{})
	w.pull(12)
	p.feed(w.take())
	assert.Empty(t, p.View().Alert)
	assert.Len(t, store.captures, 20)
}

// A pull whose top reading came broken is not stored as the one beside it.
func TestPullWithABrokenTop(t *testing.T) {
	p := boltRound(t, &memoryStore{}, RoundConfig{})
	w := newWrench()
	slow := func(broken int) {
		for i, v := range []float64{0, 0, 10, 20, 26, 29.5, 27.5, 12, 0, 0} {
			w.at = w.at.Add(90 * time.Millisecond)
			if w.put(v); i == broken {
				last := &w.events[len(w.events)-1]
				*last = device.Event{Kind: device.EventGarbled, Time: w.at, Gauge: "wrench", Text: "line is cut"}
			}
		}
		p.feed(w.take())
	}
	slow(5)
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "bolt 1 is not stored. Press enter if the wrench clicked")
	slow(3)
	require.Len(t, p.store.captures, 1, "a broken one on the way up hides nothing")
	assert.InDelta(t, 29.5, p.store.captures[0].Value, 1e-9)
	assert.Empty(t, p.View().Alert)
}
