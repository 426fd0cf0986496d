package dashboard

import (
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger"
	"crownlog/logger/record"
)

// toothBacklash is the true backlash at a place, from 0, in mm.
func toothBacklash(place int) float64 {
	a := 2 * math.Pi * float64(place%8) / 8
	return 0.165 + 0.019*math.Sin(a) + 0.005*math.Sin(2*a+1)
}

// A fitter's hands at the gear, which may be at another tooth than the screen thinks.
type clumsy struct {
	*bench
	place int
	anew  bool // the round is measured anew: what stood before is not of it
}

func (h *clumsy) rock(n int) {
	x := toothBacklash(h.place)
	for range n {
		h.to(0, x, 0.6)
		h.to(x, 0, 0.6)
	}
}

// turn lifts the plunger, turns on by so many places and sets it down.
func (h *clumsy) turn(by int) {
	h.to(0, 3.5, 1.5)
	h.place += by
	h.to(3.5, 0, 0.5)
}

// flick lifts the stem and lets it go, as every mechanic does.
func (h *clumsy) flick() {
	h.to(0, 3, 0)
	h.to(3, 0, 0.4)
}

// measured rocks until the place is stored.
func (h *clumsy) measured() {
	for range 4 {
		if h.round.View().State == logger.StateCaptured || h.round.Done() {
			return
		}
		h.rock(3)
	}
	h.t.Fatalf("position %d is not stored: %s", h.round.View().Current+1, h.round.View().Alert)
}

// rest measures what is left of the wheel.
func (h *clumsy) rest() {
	for h.measured(); !h.round.Done(); h.measured() {
		h.turn(1)
	}
}

// backlash makes one kind of mistake in each stage.
func (h *clumsy) backlash(stage string) {
	h.place = 0
	switch stage {
	case record.StageAsFound:
		h.flick()
		h.flick()
		h.measured()
		h.turn(1)
		h.flick() // which only starts the rocks again
		h.flick()
		assert.Equal(h.t, 1, h.round.View().Current)
		h.measured()
		h.turn(1)
		h.rock(1)
		h.turn(1) // before the bell
		assert.Contains(h.t, h.round.View().Alert, "Position 3 is NOT stored")
		h.turn(-1)
		h.measured()
		h.openAt(stage, record.FeatureBacklash, false) // the program was left, and started again
		assert.Equal(h.t, 3, h.round.View().Current, "it goes on where it was")
		h.place = 3
	case record.StageSetUp:
		h.measured()
		h.turn(1)
		h.rock(1)
		h.knocked = 0.3
		h.rock(2)
		assert.Equal(h.t, 1, h.round.View().Stored, "nothing of both zeros together")
		h.measured()
		h.turn(1)
		h.inches = true
		h.measured()
		assert.Regexp(h.t, `backlash, in +window 0\.00512 to 0\.00787 in\n`, h.shown(80, 24))
		h.inches = false
		h.turn(1)
	case record.StageCaps:
		for range 3 {
			h.measured()
			h.turn(1)
		}
		h.place++ // one tooth too far
		h.rest()
		assert.Contains(h.t, h.round.View().Alert, "Was position 4 skipped?")
		assert.Contains(h.t, h.shown(80, 24), "LOOK: Was position 4 skipped?")
		h.anew = true
		h.press("a")
		assert.Zero(h.t, h.round.View().Stored)
		h.place = 0
	case record.StageFinal:
		h.measured()
		h.turn(1)
		h.rock(1)
		h.press("n") // by mistake
		assert.Contains(h.t, h.round.View().Alert, "Position 2 is NOT stored")
		for h.place = 2; h.place < 8; {
			h.measured()
			h.turn(1)
		}
		assert.Equal(h.t, 1, h.round.View().Current, "it comes again")
		h.place++ // as the screen asks
	}
	h.rest()
	h.anew = false
}

// TestWholeJobsWithMistakes: whatever hands and keys do, what was stored stays stored,
// at its own place, and no screen says what is not so.
func TestWholeJobsWithMistakes(t *testing.T) {
	for _, size := range [][2]int{{80, 24}, {200, 60}} {
		t.Run(fmt.Sprint(size), func(t *testing.T) {
			b := newBench(t)
			h := &clumsy{bench: b}
			b.see = func() { h.look(size[0], size[1]) }

			b.openAt(record.StageFinal, record.FeatureOilFill, false) // the wrong order
			b.press("1.9\r")
			assert.Empty(t, b.captures)
			assert.Contains(t, b.shown(80, 24), "HOLD: ")
			b.openAt(record.StageFitUp, record.FeatureRunoutBackFace, false)
			if len(b.round.Held()) == 0 {
				b.press("2.1\r") // of the oil
				assert.Empty(t, b.captures)
			}
			b.open()
			for range 60 {
				b.see()
				if v := b.round.View(); v.Feature == record.FeatureBacklash {
					h.backlash(v.Stage)
				} else {
					b.measure()
				}
				b.see()
				if _, more := b.job().Next(); !more {
					break
				}
				b.press("n")
			}
			assert.Contains(t, b.shown(80, 24), "COMPLETE")
			for _, stage := range []string{record.StageAsFound, record.StageSetUp, record.StageCaps, record.StageFinal} {
				places := 0
				for _, c := range record.Valid(b.captures, stage, record.FeatureBacklash) {
					places++
					assert.InDelta(t, toothBacklash(c.Position-1), c.Value, 0.004, "%s, position %d", stage, c.Position)
				}
				if stage != record.StageFinal || places > 0 {
					assert.Equal(t, 8, places, stage)
				}
			}
		})
	}
}

var storedOnScreen = regexp.MustCompile(`(\d+) stored\n`)

// look holds what the screen says against the record.
func (h *clumsy) look(wide, high int) {
	screen, v := h.shown(wide, high), h.round.View()
	stands := len(record.Valid(h.captures, v.Stage, v.Feature))
	said := storedOnScreen.FindStringSubmatch(screen)
	require.NotNil(h.t, said, screen)
	if !h.anew {
		assert.Equal(h.t, fmt.Sprint(stands), said[1], screen)
	}
	_, more := h.job().Next()
	assert.Equal(h.t, !more && v.State == logger.StateDone, strings.Contains(screen, "job is COMPLETE") || wide > 80 && !more, screen)
	if v.Alert != "" && wide == 80 {
		assert.Regexp(h.t, "LOOK|PROBLEM|HOLD", screen)
	}
	if wide == 80 {
		_, below, _ := strings.Cut(screen, "\n")
		assert.NotContains(h.t, below, "…", screen)
	}
}
