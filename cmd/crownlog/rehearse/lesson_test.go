package rehearse

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// TestLessonSaysWhatAMistakeDoes: the screen names each, and no wrong value is kept.
func TestLessonSaysWhatAMistakeDoes(t *testing.T) {
	for name, c := range map[string]struct {
		key   rune
		again bool // puts it right
		fault analysis.Fault
		says  string
	}{
		"base knocked":    {'K', false, analysis.ZeroShift, "Both stops jumped"},
		"turned too soon": {'T', false, analysis.OffGear, "Position 3 is NOT stored"},
		"pinion slips":    {'S', true, analysis.PinionSlip, "The pinion is turning"},
		"stem flicked":    {'F', false, analysis.OffGear, "Position 3 is NOT stored"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := startRehearsal(t, simbench.Config{Seed: 4, AckWait: 20 * time.Second})
			r.Lesson = NewLesson(r.Bench, 0, func() {})
			r.Lesson.told[record.FeatureBacklash] = true // it does not stop
			stored, rocks, done, seen := 0, 0, false, false
			r.Hub = nil
			r.Listen = func(ev logger.Event) {
				switch {
				case ev.Kind == logger.EventCaptured:
					stored++
				case ev.Kind == logger.EventRock && stored == 2 && !done:
					if rocks++; rocks < 2 { // one stop before is an odd one, and left out
						break
					}
					done = r.Lesson.Key(c.key)
				case done && !seen && ev.Kind == logger.EventFault && ev.Fault == c.fault:
					seen = true
					assert.Contains(t, ev.Text, c.says)
					assert.True(t, !c.again || r.Lesson.Key(c.key))
				}
			}
			task, _ := taskFor(record.FeatureBacklash, r.Bench)
			require.NoError(t, r.measure(t.Context(), job.Step{Assessment: feature.Assessment{Stage: record.StageAsFound, Feature: record.FeatureBacklash}}, task))
			assert.True(t, seen)
			points := feature.Points(r.Folder.Sheet(), r.Folder.Captures(), record.StageAsFound, record.FeatureBacklash)
			require.Len(t, points, 8)
			for _, p := range points {
				assert.InDelta(t, r.Bench.TruthAt(p.AngleDeg), p.Value, closeEnough, "position %d", p.Position)
			}
		})
	}
}

// TestLessonStopsOnceForEachKind goes through a whole job, and meets no step without
// a word of why.
func TestLessonStopsOnceForEachKind(t *testing.T) {
	if testing.Short() {
		t.Skip("a whole job")
	}
	t.Parallel()
	r := startRehearsal(t, simbench.Config{Seed: 7, AckWait: 20 * time.Second})
	var said []string
	r.Lesson = NewLesson(r.Bench, 0, func() {
		if says := r.Lesson.Says(); says != "" {
			said = append(said, says)
			assert.True(t, r.Lesson.Key('K'), "nothing happens while it stands still")
			assert.True(t, r.Lesson.Key(' '))
		}
	})
	r.Lesson.quick = 0
	require.NoError(t, r.job(t.Context()))
	assert.True(t, r.ended)
	slices.Sort(said)
	assert.Equal(t, said, slices.Compact(slices.Clone(said)), "each once")
	assert.GreaterOrEqual(t, len(said), 11)
	end, err := r.Conclude()
	require.NoError(t, err)
	assert.False(t, end.Off)
}
