package rocking

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// live streams s into r and returns all events.
func live(r *Rocking, s []analysis.Sample) []Event {
	var all []Event
	for _, v := range s {
		all = append(all, r.Add(v)...)
	}
	return all
}

func only(events []Event, kind EventKind) []Event {
	return slices.DeleteFunc(slices.Clone(events), func(e Event) bool { return e.Kind != kind })
}

func eventTrace(f analysis.Fault) rockTrace {
	return rockTrace{
		Seed: 8, Hands: "scripted", Backlash: 0.15, Rate: 50, Resolution: 0.001, Noise: 0.001,
		Rocks: 6, Dwell: 0.6, Traverse: 0.2, Fault: f,
	}
}

func TestEventsOfSoundRocking(t *testing.T) {
	r := New(Options{})
	s := eventTrace("").make()
	events := live(r, s)

	stops := only(events, StopFound)
	require.GreaterOrEqual(t, len(stops), 12)
	for i, e := range stops[1:] {
		assert.Equal(t, i%2 == 0, e.High, "stop %d", i+1)
		want := 0.0
		if e.High {
			want = 0.15
		}
		assert.InDelta(t, want, e.Level, 0.005)
		assert.LessOrEqual(t, e.To-e.From, 0.3, "told as soon as it is sure")
		assert.Equal(t, e.To, e.T)
	}
	var counts []int
	for _, e := range only(events, RockCounted) {
		counts = append(counts, e.Rocks)
	}
	assert.Equal(t, []int{1, 2, 3, 4, 5, 6}, counts)
	assert.Empty(t, only(events, FaultRaised))

	r.Reset()
	assert.Equal(t, Measure(nil, Options{}).Faults, r.Result().Faults)
	assert.Equal(t, events, live(r, s), "a detector that was reset is as good as new")
}

func TestFaultIsToldWhileItLasts(t *testing.T) {
	for _, f := range []analysis.Fault{analysis.PinionSlip, analysis.ZeroShift, analysis.OffGear, analysis.Gaps} {
		raised := only(live(New(Options{}), eventTrace(f).make()), FaultRaised)
		assert.True(t, slices.ContainsFunc(raised, func(e Event) bool { return e.Fault == f }), f)
	}
}

// A gauge in hold mode sends no change that could be noticed, so the clock of
// its readings has to do.
func TestFrozenGaugeIsToldWhileFrozen(t *testing.T) {
	r := New(Options{})
	s := eventTrace("").make()
	live(r, s)
	last := s[len(s)-1]
	var told float64
	for i := range 1000 {
		v := analysis.Sample{T: last.T + 0.02*float64(i+1), X: last.X}
		for _, e := range r.Add(v) {
			if e.Kind == FaultRaised && e.Fault == analysis.Frozen {
				told = v.T - last.T
			}
		}
	}
	assert.Greater(t, told, 1.0)
	assert.Less(t, told, 8.0)
}
