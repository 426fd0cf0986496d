package record

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func lastWork(cs []Capture, stage, name string) int {
	work, _ := StaleSince(cs, stage, name)
	return work.ID
}

func emptied(cs []Capture, stage, name string) bool {
	_, ok := Emptied(cs, stage, name)
	return ok
}

// TestWhatMakesWhatStale goes through all work on an axle after everything was
// measured, and names what stands no more. The lists are the trade's, written
// out by hand: common practice, no source.
func TestWhatMakesWhatStale(t *testing.T) {
	all := []string{
		"as-found backlash", "as-found bolt-torque-caps", "as-found leak-down",
		"fit-up runout-carrier-flange", "fit-up runout-back-face",
		"bench bolt-torque-crown-wheel", "bench runout-back-face", "bench leak-down",
		"set-up preload-pinion", "set-up backlash", "set-up pattern-drive", "set-up pattern-coast",
		"caps-torqued bolt-torque-caps", "caps-torqued backlash", "caps-torqued preload-total",
		"final backlash", "final leak-down", "final engagement", "final close-up", "final oil-fill",
	}
	split := func(s string) (stage, name string) {
		for i := range s {
			if s[i] == ' ' {
				return s[:i], s[i+1:]
			}
		}
		return s, ""
	}
	backlash := []string{"set-up backlash", "set-up pattern-drive", "set-up pattern-coast"}
	capped := []string{"caps-torqued backlash", "caps-torqued preload-total", "final backlash"}
	closed := []string{"final close-up", "final oil-fill"}
	lock := []string{"final leak-down", "final engagement"}
	join := func(lists ...[]string) (joined []string) {
		for _, l := range lists {
			joined = append(joined, l...)
		}
		return joined
	}
	for work, want := range map[string][]string{
		"caps-torqued move":             join(backlash, []string{"caps-torqued bolt-torque-caps"}, capped, closed),
		"bench bolt-torque-crown-wheel": join([]string{"bench runout-back-face", "bench leak-down"}, backlash, []string{"caps-torqued bolt-torque-caps"}, capped, lock, closed),
		"caps-torqued bolt-torque-caps": join(capped, lock, closed),
		"fit-up runout-back-face":       {"bench bolt-torque-crown-wheel"},
		"bench runout-back-face":        nil,
		"final backlash":                closed,
		"final pattern-drive":           closed,
		"final close-up":                {"final oil-fill"},
		"final leak-down":               nil,
		"set-up preload-pinion":         nil,
		"caps-torqued preload-total":    nil,
		"bench note":                    nil,
	} {
		t.Run(work, func(t *testing.T) {
			var s factStore
			for _, step := range all {
				stage, name := split(step)
				s.add(stage, name, 0, QualityOK)
			}
			stage, name := split(work)
			done := s.add(stage, name, 0, QualityOK)
			var stale []string
			for _, step := range all {
				if stage, name := split(step); step != work && len(Valid(s.all, stage, name)) == 0 {
					stale = append(stale, step)
					assert.True(t, emptied(s.all, stage, name), step)
					assert.Equal(t, done, lastWork(s.all, stage, name), step)
				}
			}
			assert.ElementsMatch(t, want, stale)

			s.add(stage, name, done, QualityRejected)
			for _, step := range all {
				stage, name := split(step)
				assert.NotEmpty(t, Valid(s.all, stage, name), "%s: the work was taken back", step)
			}
		})
	}
}

// TestReasonInWords refuses what tells nobody anything.
func TestReasonInWords(t *testing.T) {
	for _, reason := range []string{"", "x", "ok", "because", "a b", "1234 5678", "no no no", ". . . . . . . ."} {
		assert.ErrorContains(t, CheckReason(reason), "is no reason", reason)
	}
	for _, reason := range []string{"no torque wrench", "came in pieces", "an dere Werkstatt"} {
		assert.NoError(t, CheckReason(reason), reason)
	}
}

// TestNoMoveAsFound: then nothing would be as it was found.
func TestNoMoveAsFound(t *testing.T) {
	var s factStore
	_, err := AddMove(&s, StageAsFound, Move{Amount: 1, Unit: "notch"}, noteTime)
	assert.ErrorContains(t, err, "what is as found is not moved")
	assert.Empty(t, s.all)
}
