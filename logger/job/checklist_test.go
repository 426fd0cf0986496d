package job

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// listed is a job with a list at two stages, and a store for its captures.
func listed(t *testing.T) (sheet.Sheet, *memory) {
	t.Helper()
	s := sheet.Example()
	s.Checks = []sheet.Check{
		{Name: "caps-marked", Stage: record.StageAsFound, What: "caps marked", Required: true},
		{Name: "swarf", Stage: record.StageAsFound, What: "swarf looked at"},
		{Name: "gap", Stage: record.StageBench, What: "no gap at the flange", Required: true},
		{Name: "lock-plates", Stage: record.StageFinal, What: "lock plates on", Required: true},
	}
	return s, &memory{}
}

func tick(t *testing.T, st *memory, of sheet.Sheet, name, note string) record.Capture {
	t.Helper()
	k, err := Job{Sheet: of, Captures: st.all}.Check(name)
	require.NoError(t, err)
	c, err := k.TickOff(st, note, testTime)
	require.NoError(t, err)
	return c
}

// blocking are the names of the lists that hold, with what waits for each.
func blocking(s sheet.Sheet, cs []record.Capture) string {
	var names []string
	for _, h := range HoldPoints(s, cs) {
		if h.NotDone() {
			names = append(names, h.Name+" before "+h.Before)
		}
	}
	return strings.Join(names, ", ")
}

// Copied windows take a page of the manual: no key confirms them.
func TestWhatIsTickedNext(t *testing.T) {
	s, st := listed(t)
	s.Vehicle.CopiedFrom = "axle 7"
	next := func() string { return ToTick(HoldPoints(s, st.all)).Name }
	for _, name := range []string{"caps-marked", "gap", "lock-plates"} {
		assert.Equal(t, name, next())
		tick(t, st, s, name, "")
	}
	assert.Empty(t, next())
	_, err := record.Reject(st, 1, testTime)
	require.NoError(t, err)
	assert.Equal(t, "caps-marked", next())
	_, err = record.AddOverride(st, record.StageBench, "strip-list", "stripped by another shop", testTime)
	require.NoError(t, err)
	assert.Empty(t, next(), "passed with a reason")
}

func TestListsHold(t *testing.T) {
	s, st := listed(t)
	assert.Equal(t, "strip-list before the strip, bench-list before setting the backlash, fit-list before closing up", blocking(s, st.all))
	c := tick(t, st, s, "caps-marked", " by paint ")
	assert.Equal(t, "caps-marked: caps marked; by paint", c.NoteText())
	assert.Equal(t, record.StageAsFound, c.Stage)
	tick(t, st, s, "gap", "")
	assert.Equal(t, "fit-list before closing up", blocking(s, st.all), "what is not required holds nothing")
	_, err := record.Reject(st, 1, testTime)
	require.NoError(t, err)
	assert.Contains(t, blocking(s, st.all), "strip-list")
	_, err = record.AddOverride(st, record.StageBench, "strip-list", "stripped by another shop", testTime)
	require.NoError(t, err)
	assert.Equal(t, "fit-list before closing up", blocking(s, st.all))
	skipped := HoldPoints(s, st.all)[1]
	assert.Equal(t, []string{"strip-list", "stripped by another shop"}, []string{skipped.Name, skipped.Skipped})

	_, err = Job{Sheet: s}.Check("caps")
	assert.EqualError(t, err, `no check "caps": want one of caps-marked, swarf, gap, lock-plates`)
}

// TestWorkUndoesTheFitList: a move takes the lock plates off, whatever was ticked
// before; what was seen to before the strip stays seen to.
func TestWorkUndoesTheFitList(t *testing.T) {
	s, st := listed(t)
	for _, name := range []string{"caps-marked", "gap", "lock-plates"} {
		tick(t, st, s, name, "")
	}
	assert.Empty(t, blocking(s, st.all))
	_, err := record.AddMove(st, record.StageFinal, record.Move{Amount: 1, Unit: "notch"}, testTime)
	require.NoError(t, err)
	assert.Equal(t, "fit-list before closing up", blocking(s, st.all))
	tick(t, st, s, "lock-plates", "")
	assert.Empty(t, blocking(s, st.all))
}

// TestCopiedWindowsHoldEverything until they are confirmed with a page.
func TestCopiedWindowsHoldEverything(t *testing.T) {
	s, st := listed(t)
	s.Vehicle.CopiedFrom = "fleet 12"
	j := Job{Sheet: s}
	assert.Equal(t, sheet.CheckCopied, j.Step(record.StageAsFound, record.FeatureBacklash, HoldPoints(s, nil)).Hold[0].Name)
	k, err := j.Check(sheet.CheckCopied)
	require.NoError(t, err)
	_, err = k.TickOff(st, "  ", testTime)
	require.Error(t, err)
	assert.Empty(t, st.all)
	tick(t, st, s, sheet.CheckCopied, "p. 12")
	j.Captures = st.all
	assert.Empty(t, j.Step(record.StageAsFound, record.FeatureBacklash, HoldPoints(s, st.all)).Hold)
	s.Vehicle.CopiedFrom = "fleet 7"
	assert.Contains(t, blocking(s, st.all), sheet.CheckCopied, "a sheet of yet another vehicle is not the one that was confirmed")
}
