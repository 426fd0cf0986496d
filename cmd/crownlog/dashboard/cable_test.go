package dashboard

import (
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger"
	"crownlog/logger/job"
	"crownlog/logger/record"
)

// types presses keys that come so soon after one another. A | is a stall of 400 ms,
// \r is enter.
func (r *rig) types(keys string, every time.Duration) {
	for _, c := range keys {
		switch c {
		case '|':
			time.Sleep(400 * time.Millisecond)
		case '\r':
			r.key(tcell.KeyEnter, 0)
		case '\t':
			r.key(tcell.KeyTab, 0)
		case '\n':
			r.key(tcell.KeyLF, 0)
		default:
			r.key(tcell.KeyRune, c)
		}
		time.Sleep(every)
	}
}

func TestWhatACableTypesIsNoCommand(t *testing.T) {
	const ms = time.Millisecond
	round := func() logger.View { return measuringScene() }
	for _, c := range []struct {
		name  string
		view  func() logger.View
		keys  string
		every time.Duration
		want  []string         // of the gauge
		does  []logger.Command // by hand
	}{
		{"a batch", round, "0.123\r", 0, []string{"0.123\n"}, nil},
		{"a keyboard", round, "-0,9\r", 20 * ms, []string{"-0,9\n"}, nil},
		{"a slow one", round, "-0,9\r", 49 * ms, []string{"-0,9\n"}, nil},
		{"tab", round, "+.5\t", 8 * ms, []string{"+.5\n"}, nil},
		{"line feed", round, " 7\n", 8 * ms, []string{" 7\n"}, nil},
		{"one digit", round, "0\r", 8 * ms, []string{"0\n"}, nil},
		{"letters in it are no keys", round, "0.123 qunx mm\r", 8 * ms, []string{"0.123 qunx mm\n"}, nil},
		{"two readings", round, "0.1\r0.2\r", 8 * ms, []string{"0.1\n", "0.2\n"}, nil},
		{"a stall, or a digit by hand", round, "1|.234\r", 8 * ms, []string{".234\x00\n"}, nil},
		{"a stall in the middle", round, "1.2|34 mm\r", 8 * ms, []string{"1.2\x00\n"}, nil},
		{"a stall before the end", round, "1.234|\r", 8 * ms, []string{"1.234\x00\n"}, nil},
		{"a stall, and the next", round, "1.234|\r1.235\r", 8 * ms, []string{"1.234\x00\n", "1.235\n"}, nil},
		{"no end", round, "1.234", 8 * ms, []string{"1.234\x00\n"}, nil},
		{"no end, and the next after a while", round, "1.234|||1.235\r", 8 * ms, []string{"1.234\x00\n", "1.235\n"}, nil},
		{"no end, and a command after a while", round, "1.234|||u", 8 * ms, []string{"1.234\x00\n"}, []logger.Command{logger.CmdUndo}},
		{"a finished round", doneScene, "0.123 n\r", 8 * ms, []string{"0.123 n\n"}, nil},
		{"a finished round, slowly", doneScene, "1 2 n\r", 40 * ms, []string{"1 2 n\n"}, nil},
		{"a pattern", func() logger.View { return base(record.FeaturePatternCoast) }, "0.1\r", 8 * ms, []string{"0.1\n"}, nil},
		{"bolts", boltsScene, "12.5\r", 8 * ms, []string{"12.5\n"}, nil},

		{"a command at once", round, "nbux", 0, nil, []logger.Command{logger.CmdNext, logger.CmdBack, logger.CmdUndo, logger.CmdRetry}},
		{"space", round, " ", 0, nil, []logger.Command{logger.CmdCapture}},
		{"a hand types", round, "0.15\r", 90 * ms, nil, []logger.Command{logger.CmdKeyed(0.15, "")}},
		{"with two keys at once", round, "0|.1|5|\r", 0, nil, []logger.Command{logger.CmdKeyed(0.15, "")}},
		{"and the end", round, "0|.1|5\r", 0, nil, []logger.Command{logger.CmdKeyed(0.15, "")}},
		{"a command in a hurry after a digit", doneScene, "1|u", 0, nil, []logger.Command{logger.CmdUndo}},
		{"a batch after a command", round, "n0.1\r", 0, []string{"0.1\n"}, []logger.Command{logger.CmdNext}},
	} {
		t.Run(c.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				r := newJobRig(c.view())
				var read []string
				r.source.Cable = func(line string) { read = append(read, line) }
				r.start()
				before := r.screen.text()
				r.types(c.keys, c.every)
				time.Sleep(2 * quickKey)
				r.settle()
				assert.Equal(t, c.want, read)
				assert.Equal(t, c.does, r.commands)
				assert.Empty(t, r.requests)
				if c.want != nil && c.name != "a stall, or a digit by hand" {
					assert.Equal(t, before, r.screen.text(), "nothing is left of the keys")
				}
				r.stop(t)
			})
		})
	}
}

// On other pages too, and beside what a hand is typing.
func TestACableTypesOnAnyPage(t *testing.T) {
	for name, keys := range map[string]string{"help": "?", "job": "j", "a value": "0.2", "a note": "tchipped 2", "an empty note": "t", "a move": "m"} {
		t.Run(name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				v := measuringScene()
				if name == "a move" {
					v = doneScene()
				}
				r := newJobRig(v)
				var read []string
				r.source.Cable = func(line string) { read = append(read, line) }
				r.source.Keep = func(_, note string) { t.Error("kept: " + note) }
				r.source.Override = func(hold, reason string) { t.Error("overridden: " + reason) }
				r.start()
				r.types(keys, 2*quickKey)
				r.types("|||", 0)
				before := r.screen.text()
				lines := []string{"0.123\r", "0.125 oqn\r", "0.126|||", "0.127|\r"}
				for _, line := range lines {
					r.types(line, 5*time.Millisecond)
				}
				r.settle()
				assert.Equal(t, []string{"0.123\n", "0.125 oqn\n", "0.126\x00\n", "0.127\x00\n"}, read)
				assert.Equal(t, before, r.screen.text())
				assert.Empty(t, r.commands)
				assert.Equal(t, []job.Request(nil), r.requests)
				r.stop(t)
			})
		})
	}
}

func TestAHandSeesWhatItTypes(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.source.Cable = func(line string) { t.Error("read: " + line) }
		r.start()
		r.types("0.", 0)
		assert.NotContains(t, r.screen.text(), "value")
		time.Sleep(quickKey)
		synctest.Wait()
		assert.Contains(t, r.screen.text(), "value 0._")
		r.types("7", 0)
		r.key(tcell.KeyBackspace2, 0)
		assert.Contains(t, r.screen.text(), "value 0._")
		r.stop(t)
		assert.Empty(t, r.commands)
	})
}

// A busy computer may hand over the next line before it tells that time went by.
func TestALineWithoutAnEndBeforeTheNext(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var read []string
		p := newPanel(Source{Latest: measuringScene, Cable: func(line string) { read = append(read, line) }}, func() {})
		p.screen = newTestScreen("UTF-8", 80, 24)
		require.NoError(t, p.screen.Init())
		for _, c := range "1.23" {
			p.anyKey(tcell.NewEventKey(tcell.KeyRune, c, 0))
		}
		time.Sleep(cutKey + quickKey)
		for _, c := range "4.56" {
			p.anyKey(tcell.NewEventKey(tcell.KeyRune, c, 0))
		}
		p.anyKey(tcell.NewEventKey(tcell.KeyEnter, 0, 0))
		assert.Equal(t, []string{"1.23\x00\n", "4.56\n"}, read)
	})
}

// Without a gauge that types the keys are as fast as anybody likes.
func TestNoCableNoWaiting(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		r := newRig(newTestScreen("UTF-8", 80, 24), measuringScene())
		r.start()
		r.types("0.1", 0)
		assert.True(t, strings.Contains(r.screen.text(), "value 0.1_"))
		r.types("\r", 0)
		r.stop(t)
		assert.Equal(t, []logger.Command{logger.CmdKeyed(0.1, "")}, r.commands)
	})
}
