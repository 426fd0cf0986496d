package dashboard

import (
	"testing"
	"testing/synctest"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/setup"
	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func TestKeysBecomeCommands(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start()
		r.keys(" nbuxp")
		r.key(tcell.KeyRight, 0)
		r.key(tcell.KeyLeft, 0)
		r.keys("zj") // mean nothing here
		r.stop(t)
		assert.Equal(t, []logger.Command{
			logger.CmdCapture, logger.CmdNext, logger.CmdBack, logger.CmdUndo,
			logger.CmdRetry, logger.CmdPause, logger.CmdNext, logger.CmdBack,
		}, r.commands)
	})
}

func TestHelpAndJobPages(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		var hold, reason string
		r.source.Job = jobScene
		r.source.Override = func(h, why string) { hold, reason = h, why }
		r.start()
		r.keys("?")
		assert.Contains(t, r.screen.text(), "forget the rocks at this position")
		r.keys("n") // only closes the help
		assert.Contains(t, r.screen.text(), "3 of 5 rocks")
		r.keys("j")
		assert.Contains(t, r.screen.text(), "HOLD before set-up backlash")
		r.keys("o")
		r.key(tcell.KeyEnter, 0) // no reason, no override
		assert.Empty(t, hold)
		r.keys("gear q?x")
		r.key(tcell.KeyBackspace2, 0)
		assert.Contains(t, r.screen.text(), "reason gear q?_")
		r.key(tcell.KeyEnter, 0)
		r.keys("j")
		assert.Contains(t, r.screen.text(), "3 of 5 rocks")
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
		r.start()
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
		r := newRig(newTestScreen("UTF-8", 80, 24), base(record.FeatureEngagement))
		r.start()
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
		r := newRig(newTestScreen("UTF-8", 80, 24), base(record.FeatureLeakDown))
		r.start()
		r.keys("690 688 kPa 10 min")
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []logger.Command{
			logger.CmdKeyed(690, "kPa"), logger.CmdKeyed(688, "kPa"), logger.CmdKeyed(10, "min"),
		}, r.commands)
	})
}

// tickText is the page that asks whether an entry was seen to.
func tickText(name, what string) string {
	c := newCanvas(80, 24, false)
	paintNotice(c, "tick "+name+" · y: done, on record as done now · any other key: not yet", "", "done?", what)
	return c.String()
}

// An entry is ticked by y and nothing else, under its words, and only where one is wanted.
func TestTickOfAList(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := measuringScene()
		marked := job.Check{Check: sheet.Check{Name: "caps-marked", What: "bearing caps marked left and right"}}
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		var ticked []string
		r.source.Tick = func(name string) { ticked = append(ticked, name) }
		r.source.Job = func() JobView {
			return JobView{Steps: jobScene().Steps, Holds: []job.HoldPoint{
				{Name: "strip-list", Before: "the strip", Blocking: true, Unticked: []job.Check{marked}}}}
		}
		r.start()
		r.keys("vy")
		assert.Empty(t, ticked, "no list holds the round")
		r.keys("jv")
		assert.Equal(t, tickText("caps-marked", "Bearing caps marked left and right"), r.screen.text())
		r.key(tcell.KeyEnter, 0)
		r.keys("v v")
		r.key(tcell.KeyEscape, 0)
		assert.Empty(t, ticked)
		r.keys("v")
		r.keys("y")
		r.stop(t)
		assert.Equal(t, []string{"caps-marked"}, ticked)
		assert.Empty(t, r.commands)
	})
	synctest.Test(t, func(t *testing.T) {
		v := measuringScene()
		v.State, v.Tick = logger.StateHeld, job.Check{Check: sheet.Check{Name: "breather", What: "the breather is free"}}
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		var ticked []string
		r.source.Tick = func(name string) { ticked = append(ticked, name) }
		r.start()
		r.keys("v")
		assert.Equal(t, tickText("breather", "The breather is free"), r.screen.text())
		r.keys("ny")
		assert.Empty(t, ticked, "n is not yet")
		r.keys("vy")
		r.stop(t)
		assert.Equal(t, []string{"breather"}, ticked)
	})
}

func TestOverrideOfWhatTheRoundBlocks(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), boltsScene())
		r.start()
		r.keys("o")
		r.key(tcell.KeyEnter, 0) // no reason, no override
		assert.Empty(t, r.commands)
		r.keys("bolt 7 was missed")
		assert.Contains(t, r.screen.text(), "reason bolt 7 was missed_")
		r.key(tcell.KeyEnter, 0)
		r.keys("oyes each was seen") // no try of a lock, whose line takes no e after yes
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []logger.Command{logger.CmdOverride("bolt 7 was missed"), logger.CmdOverride("yes each was seen")}, r.commands)
	})
}

func TestDoneRoundTellsTheMoveBefore(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), doneScene())
		r.source.Job = jobScene
		r.start()
		got := r.screen.text()
		r.stop(t)
		assert.Contains(t, got, "last +1: expected 0.189 ± 0.012, got 0.186 mm")
		assert.Contains(t, got, "OUT 2")
	})
}

func TestPatternEntry(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := base(record.FeaturePatternCoast)
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.source.Pattern = func(string) PatternEntry {
			return PatternEntry{Form: "tapered", Drive: &setup.Contact{Along: -0.6}}
		}
		r.start()
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
		v := base(record.FeaturePatternDrive)
		v.Positions = []logger.PositionView{{Value: 0.6}, {Value: 0}}
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.start()
		assert.Contains(t, r.screen.text(), "DRIVE  heel ✓ stored")
		for range 12 {
			r.key(tcell.KeyLeft, 0)
		}
		assert.Contains(t, r.screen.text(), "DRIVE  toe")
		r.show(base(record.FeatureBacklash))
		r.settle()
		r.show(v)
		r.settle()
		assert.Contains(t, r.screen.text(), "DRIVE  heel ✓ stored")
		r.stop(t)
	})
}

func TestFinishedRoundGoesOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newJobRig(insideScene())
		r.start()
		assert.Contains(t, r.screen.text(), "Press n for run-out of the back face, bench, or j to choose.")
		r.keys("n")
		r.stop(t)
		assert.Equal(t, []job.Request{{}}, r.requests)
		assert.Empty(t, r.commands)
	})
}

func TestMoveIsRecordedAsAdvisedOrAsTyped(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newJobRig(doneScene())
		r.start()
		r.keys("m")
		assert.Contains(t, r.screen.text(), "moved +1_")
		r.key(tcell.KeyEnter, 0)
		r.keys("m")
		r.key(tcell.KeyBackspace2, 0)
		r.keys("x")
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "a move is typed as -1")
		r.key(tcell.KeyBackspace2, 0)
		r.keys("2 mm")
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "a move is typed as -1")
		for range " mm" {
			r.key(tcell.KeyBackspace2, 0)
		}
		r.key(tcell.KeyEnter, 0)
		for _, how := range []string{" not seated", " Reversed", " not seated, reversed", " reversed not seated"} {
			r.keys("m" + how)
			r.key(tcell.KeyEnter, 0)
		}
		r.stop(t)
		both := job.Request{Moved: record.Move{Amount: 1, Unseated: true, Reversed: true}}
		assert.Equal(t, []job.Request{
			{Moved: record.Move{Amount: 1}}, {Moved: record.Move{Amount: 2}},
			{Moved: record.Move{Amount: 1, Unseated: true}}, {Moved: record.Move{Amount: 1, Reversed: true}}, both, both,
		}, r.requests)
	})
}

func TestMoveKeyDoesNothingDuringARound(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newJobRig(measuringScene())
		r.start()
		r.keys("mn")
		r.stop(t)
		assert.Empty(t, r.requests)
		assert.Equal(t, []logger.Command{logger.CmdNext}, r.commands)
	})
}

func TestStepIsChosenInTheJobView(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newJobRig(measuringScene())
		r.start()
		r.keys("j")
		for range 2 {
			r.key(tcell.KeyUp, 0)
		}
		r.key(tcell.KeyDown, 0)
		r.key(tcell.KeyEnter, 0)
		assert.Contains(t, r.screen.text(), "3 of 5 rocks", "back on the round")
		r.keys("j")
		for range 40 {
			r.key(tcell.KeyDown, 0)
		}
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []job.Request{
			{Stage: record.StageBench, Feature: record.FeatureWheelBolts},
			{Stage: record.StageFinal, Feature: record.FeatureOilFill},
		}, r.requests)
	})
}

func TestNothingIsTypedOnAResult(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), insideScene())
		r.start()
		r.keys("0.19")
		r.key(tcell.KeyEnter, 0)
		assert.NotContains(t, r.screen.text(), "value")
		r.stop(t)
		assert.Empty(t, r.commands)
	})
}

func TestTryOfTheLockIsTypedAsItIsSaid(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		v := base(record.FeatureEngagement)
		around(&v, 3, 0)
		v.Typed = "s"
		r := newRig(newTestScreen("UTF-8", 80, 24), v)
		r.start()
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

// Enter is a click of the wrench, and one key a whole early pass; a presenter's
// two keys go on and back.
func TestKeysOfBoltsAndOfAPresenter(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), boltsScene())
		r.start()
		r.key(tcell.KeyEnter, 0)
		r.keys("a")
		r.key(tcell.KeyPgDn, 0)
		r.key(tcell.KeyPgUp, 0)
		assert.Contains(t, r.screen.text(), "enter clicked")
		r.show(measuringScene())
		r.settle()
		r.keys("a")
		r.key(tcell.KeyEnter, 0)
		r.stop(t)
		assert.Equal(t, []logger.Command{logger.CmdClick, logger.CmdClickPass, logger.CmdNext, logger.CmdBack}, r.commands)
	})
}

func TestNotesAndPhotosAreTyped(t *testing.T) {
	for _, v := range []logger.View{measuringScene(), insideScene(), base(record.FeaturePatternDrive)} {
		synctest.Test(t, func(t *testing.T) {
			r := newRig(newTestScreen("UTF-8", 80, 24), v)
			var kept [][2]string
			r.source.Keep = func(path, note string) { kept = append(kept, [2]string{path, note}) }
			r.start()
			r.keys("ta chip, q?")
			assert.Contains(t, r.screen.text(), "note a chip, q?_")
			r.key(tcell.KeyEnter, 0)
			r.keys("i/tmp/a photo.jpg")
			assert.Contains(t, r.screen.text(), "path of the photo /tmp/a photo.jpg_")
			r.key(tcell.KeyEnter, 0)
			r.keys("i")
			r.key(tcell.KeyEscape, 0)
			r.stop(t)
			assert.Equal(t, [][2]string{{"", "a chip, q?"}, {"/tmp/a photo.jpg", ""}}, kept)
			assert.Empty(t, r.commands)
		})
	}
}
