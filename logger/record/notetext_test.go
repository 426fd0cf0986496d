package record

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

var abSum = strings.Repeat("ab", 32)

// noteCells pairs the facts of captures with the cell that keeps them.
var noteCells = []struct {
	cell string
	want Capture
}{
	{"", Capture{Feature: FeatureWheelBolts}},
	{"pass 2 of 3 (60 %)", Capture{Feature: FeatureWheelBolts, Pass: Pass{2, 3, 60, 0}}},
	{"pass 3 of 3 (100 %)", Capture{Feature: FeatureCapBolts, Pass: Pass{3, 3, 100, 0}}},
	{"pass 1 of 10 (5 %); washer turned", Capture{Feature: FeatureCapBolts, Pass: Pass{1, 10, 5, 0}, Note: "washer turned"}},
	{"pass 02 of 3 (60 %)", Capture{Feature: FeatureCapBolts, Note: "pass 02 of 3 (60 %)"}},
	{"keyed; pass 2 of 3 (60 %)", Capture{Feature: FeatureWheelBolts, Note: "keyed; pass 2 of 3 (60 %)"}},
	{"pass 2 of 3 (60 %), tight", Capture{Feature: FeatureWheelBolts, Note: "pass 2 of 3 (60 %), tight"}},
	{"pass 2 of 3 (60 %)", Capture{Feature: FeatureBacklash, Note: "pass 2 of 3 (60 %)"}},

	{"pass 3 of 3 (100 %), then 90°", Capture{Feature: FeatureWheelBolts, Pass: Pass{3, 3, 100, 90}}},
	{"pass 3 of 3 (100 %), then 82.5°; typed", Capture{Feature: FeatureWheelBolts, Pass: Pass{3, 3, 100, 82.5}, Note: "typed"}},
	{"pass 3 of 3 (100 %), then 0°", Capture{Feature: FeatureWheelBolts, Note: "pass 3 of 3 (100 %), then 0°"}},
	{"pass 3 of 3 (100 %), then 1.2.3°", Capture{Feature: FeatureWheelBolts, Note: "pass 3 of 3 (100 %), then 1.2.3°"}},

	{"crown-wheel side +1, far side +0", Capture{Feature: FeatureMove, Near: 1}},
	{"crown-wheel side +0, far side -0.5; not seated: cup held off", Capture{Feature: FeatureMove, Far: -0.5, Unseated: true, Note: "cup held off"}},
	{"crown-wheel side +0, far side +0", Capture{Feature: FeatureMove, Note: "crown-wheel side +0, far side +0"}},
	{"crown-wheel side +1.0, far side +0", Capture{Feature: FeatureMove, Note: "crown-wheel side +1.0, far side +0"}},
	{"crown-wheel side +1, far side +0; left first", Capture{Feature: FeatureMove, Near: 1, Note: "left first"}},
	{"left side first", Capture{Feature: FeatureMove, Note: "left side first"}},
	{"not seated", Capture{Feature: FeatureMove, Unseated: true}},
	{"not seated: cup held off", Capture{Feature: FeatureMove, Unseated: true, Note: "cup held off"}},
	{"not seated, it seems", Capture{Feature: FeatureMove, Unseated: true, Note: "not seated, it seems"}},
	{"reversed", Capture{Feature: FeatureMove, Reversed: true}},
	{"reversed on the way", Capture{Feature: FeatureMove, Reversed: true, Note: "reversed on the way"}},
	{"not seated, reversed: both", Capture{Feature: FeatureMove, Unseated: true, Reversed: true, Note: "both"}},
	{"reversed: not seated", Capture{Feature: FeatureMove, Reversed: true, Note: "not seated"}},
	{"was not seated", Capture{Feature: FeatureMove, Note: "was not seated"}},
	{"reversed: reversed", Capture{Feature: FeatureMove, Reversed: true, Note: "reversed: reversed"}},

	{"back-face: shop: says it is flat", Capture{Feature: FeatureOverride, Hold: "back-face", Note: "shop: says it is flat"}},
	{"re-strike bolt-torque-caps: thread cut", Capture{Feature: FeatureOverride, Hold: "re-strike bolt-torque-caps", Note: "thread cut"}},
	{"no name", Capture{Feature: FeatureOverride, Note: "no name"}},
	{": no name", Capture{Feature: FeatureOverride, Note: ": no name"}},
	{"back-face: shop", Capture{Feature: FeatureNote, Note: "back-face: shop"}},

	{"attached attachments/0001-a.jpg sha256:" + abSum, Capture{Feature: FeatureNote, Attachment: Attachment{"attachments/0001-a.jpg", abSum}}},
	// Earlier versions kept blanks and colons in a name.
	{"attached attachments/0003-a sha256:beef.jpg sha256:" + abSum + " seen sha256:1",
		Capture{Feature: FeatureNote, Attachment: Attachment{"attachments/0003-a sha256:beef.jpg", abSum}, Note: "seen sha256:1"}},
	{"entered by Ann", Capture{Feature: FeatureBacklash, By: "Ann"}},
	{"entered by Ann; locked and freed", Capture{Feature: FeatureEngagement, By: "Ann", Note: "locked and freed"}},
	{"entered by A. N. Other; pass 2 of 3 (60 %); washer turned", Capture{Feature: FeatureCapBolts, By: "A. N. Other", Pass: Pass{2, 3, 60, 0}, Note: "washer turned"}},
	{"entered by Ann; not seated: cup held off", Capture{Feature: FeatureMove, By: "Ann", Unseated: true, Note: "cup held off"}},
	{"entered by Ann; back-face: shop: says it is flat", Capture{Feature: FeatureOverride, By: "Ann", Hold: "back-face", Note: "shop: says it is flat"}},
	{"entered by Ann; entered by Bob", Capture{Feature: FeatureNote, By: "Ann", Note: "entered by Bob"}},
	{"entered by ; nobody", Capture{Feature: FeatureNote, By: "", Note: "entered by ; nobody"}},
	{"entered by hand;", Capture{Feature: FeatureNote, Note: "entered by hand;"}},
	{"attached nothing", Capture{Feature: FeatureNote, Note: "attached nothing"}},
	{"attached attachments/../../x sha256:" + abSum, Capture{Feature: FeatureNote, Note: "attached attachments/../../x sha256:" + abSum}},
	{"attached x sha256:" + abSum, Capture{Feature: FeatureNote, Note: "attached x sha256:" + abSum}},
	{"attached attachments/x sha256:" + abSum[1:], Capture{Feature: FeatureNote, Note: "attached attachments/x sha256:" + abSum[1:]}},
}

func TestNoteCells(t *testing.T) {
	for _, tt := range noteCells {
		got := Capture{Feature: tt.want.Feature, Near: 1, Pass: Pass{1, 1, 1, 0}, Unseated: true, Reversed: true, Hold: "x", Attachment: Attachment{Path: "x"}}
		got.ReadNote(tt.cell)
		assert.Equal(t, tt.want, got, "read from %q", tt.cell)
		assert.Equal(t, tt.cell, tt.want.NoteText(), "written for %+v", tt.want)
	}
}

// TestFactsOfAnotherFeatureAreNotWritten: they would not be read again.
func TestFactsOfAnotherFeatureAreNotWritten(t *testing.T) {
	c := Capture{Pass: Pass{1, 3, 30, 0}, Unseated: true, Hold: "back-face", Attachment: Attachment{"attachments/x", abSum}, Note: "text"}
	for feature, want := range map[string]string{
		FeatureBacklash: "text", FeatureCapBolts: "pass 1 of 3 (30 %); text", FeatureMove: "not seated: text",
		FeatureOverride: "back-face: text", FeatureNote: "attached attachments/x sha256:" + abSum + " text",
	} {
		c.Feature = feature
		assert.Equal(t, want, c.NoteText())
	}
}

// FuzzNoteText: whatever a cell holds, it is written as it was read, and what
// was written is read as it was meant.
func FuzzNoteText(f *testing.F) {
	for _, tt := range noteCells {
		f.Add(tt.want.Feature, tt.cell, false, false, 2)
	}
	f.Fuzz(func(t *testing.T, feature, text string, unseated, reversed bool, pass int) {
		c := Capture{Feature: feature}
		c.ReadNote(text)
		if c.NoteText() != text {
			t.Fatalf("%q of %s is written %q", text, feature, c.NoteText())
		}
		again := Capture{Feature: feature}
		again.ReadNote(c.NoteText())
		assert.Equal(t, c, again)

		move := Capture{Feature: FeatureMove, Unseated: unseated, Reversed: reversed, Note: text}
		back := Capture{Feature: FeatureMove}
		back.ReadNote(move.NoteText())
		assert.True(t, back.Unseated || !unseated, "%q", move.NoteText())
		assert.True(t, back.Reversed || !reversed, "%q", move.NoteText())
		if pass > 0 && pass < 1000 && !strings.ContainsAny(text, "\r\n") {
			pull := Capture{Feature: FeatureCapBolts, Pass: Pass{pass, 999, 100, 0}, Note: text}
			back := Capture{Feature: FeatureCapBolts}
			back.ReadNote(pull.NoteText())
			assert.Equal(t, pull, back)
		}
	})
}

func TestFinalPass(t *testing.T) {
	assert.False(t, Pass{1, 3, 30, 0}.Final())
	assert.True(t, Pass{3, 3, 100, 0}.Final())
	assert.True(t, Pass{}.Final(), "a pull that names no pass is the bolt's torque")
}

func TestCutLong(t *testing.T) {
	whole := strings.Repeat("µ", quotedLength)
	assert.Equal(t, whole, CutLong(whole))
	assert.Equal(t, whole+"…", CutLong(whole+"µ"))
}

// The last capture is not the latest where the clock was set back.
func TestLastTime(t *testing.T) {
	noon := time.Date(2026, 3, 4, 12, 0, 0, 0, time.UTC)
	assert.Equal(t, noon, LastTime([]Capture{{Time: noon.Add(-time.Hour)}, {Time: noon}, {Time: noon.Add(-time.Minute)}}))
	assert.Zero(t, LastTime(nil))
}
