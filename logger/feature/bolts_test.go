package feature

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/device/frame"
	"crownlog/logger/record"
)

// The example's crown wheel bolts: ten of 98 N·m within a tenth, in passes of 30,
// 60 and 100 %.
func wrench(change func(s *Setup)) *hand { return newHand(record.FeatureWheelBolts, 1, change, false) }

func TestPullsInOrder(t *testing.T) {
	h := wrench(func(*Setup) {})
	assert.Equal(t, "Pull bolt 1 to 29.40 N·m (pass 1 of 3).", h.ask())
	for _, share := range []float64{0.3, 0.6, 1} {
		for range 10 {
			h.pull(98 * share)
		}
	}
	require.Len(t, h.taken, 30)
	var order []int
	for _, c := range h.taken[:10] {
		order = append(order, c.Position)
	}
	// The order of a ten-bolt star is common practice.
	assert.Equal(t, []int{1, 6, 3, 8, 5, 10, 2, 7, 4, 9}, order)
	assert.Equal(t, record.Pass{N: 2, Of: 3, Percent: 60}, h.taken[10].Pass)
	assert.Equal(t, record.Pass{N: 3, Of: 3, Percent: 100}, h.taken[29].Pass)
	assert.InDelta(t, 98, h.taken[29].Value, 0.2)
	// 1 % of the wrench, rectangular (JCGM 100:2008, 4.3.7).
	assert.InDelta(t, 0.98/math.Sqrt(3), h.taken[29].U, 0.01)
	assert.Equal(t, record.QualityOK, h.taken[29].Quality)
	assert.True(t, h.at.Done)
	h.pull(98)
	assert.Equal(t, "All bolts are stored: this pull is not. Never re-strike a bolt once the locker has set.", h.shown)
	assert.Len(t, h.taken, 30)
}

func TestDonePullWithoutLocker(t *testing.T) {
	h := wrench(func(s *Setup) { s.Sheet.Bolts[0].ThreadLocker = false })
	h.at.Done = true
	h.pull(98)
	assert.Equal(t, "All bolts are stored: this pull is not. Undo one to torque it again.", h.shown)
}

// TestShortPull: below 0.97 of the lower end of the tolerance, which is 25.67
// N·m of 29.4, a pull is a ratchet stroke.
func TestShortPull(t *testing.T) {
	h := wrench(func(*Setup) {})
	h.press(25.6)
	assert.Empty(t, h.taken)
	assert.Equal(t, "Short: 25.60 N·m of 29.40 N·m. Pull bolt 1 again.", h.shown)
	h.press(25.7)
	require.Len(t, h.taken, 1)
	assert.Empty(t, h.shown)
	assertTimes(t, 8*time.Second, h.taken[0].Time)
	h.press(32.3) // a tenth above 29.4 is 32.34
	require.Len(t, h.taken, 2)
	assert.Empty(t, h.shown)
	h.press(32.4)
	require.Len(t, h.taken, 3, "it is on record")
	assert.Equal(t, "Bolt 3 went to 32.40 N·m, over its 29.40 N·m: see whether it must be replaced.", h.shown)
}

func TestPullByCommand(t *testing.T) {
	h := wrench(func(*Setup) {})
	h.accept()
	assert.Equal(t, "No pull yet.", h.shown)
	h.press(20)
	h.accept()
	require.Len(t, h.taken, 1, "a short one, if he says so")
	assert.Equal(t, 20.0, h.taken[0].Value)
	assert.Equal(t, 1, h.at.Index)
}

func TestDoublePull(t *testing.T) {
	h := wrench(func(*Setup) {})
	h.rate, h.digit, h.noise = 100, 0.1, 0
	h.move(0, 29.4, 1)
	h.move(29.4, 25, 0.1)
	h.hold(25, 0.4)
	h.move(25, 29.8, 0.2)
	assert.InDelta(t, 29, h.Progress().Estimate, 1, "while it is pulled")
	h.move(29.8, 0, 0.2)
	h.hold(0, 0.5)
	require.Len(t, h.taken, 1)
	assert.Equal(t, qualityDouble, h.taken[0].Quality)
	assert.Equal(t, "Bolt 1 was clicked twice: the second click over-torques it.", h.shown)
	assert.True(t, math.IsNaN(h.Progress().Estimate))
}

// TestAdapter: an extension of 50 mm in line on a wrench of 350 mm gives 400/350
// of what the wrench reads.
func TestAdapter(t *testing.T) {
	h := wrench(func(s *Setup) {
		s.Sheet.Bolts[0].PassesPct = []int{100}
		s.Sheet.Bolts[0].WrenchLength, s.Sheet.Bolts[0].AdapterLength = 350, 50
	})
	h.press(98 * 350.0 / 400)
	require.Len(t, h.taken, 1)
	assert.InDelta(t, 98, h.taken[0].Value, 1e-9)
}

// TestRestrike: after the locker's ten minutes only a bolt that has no last pull
// yet is torqued without a reason.
func TestRestrike(t *testing.T) {
	for name, tt := range map[string]struct {
		change func(h *hand)
		block  bool
	}{
		"the time is over":       {func(*hand) {}, true},
		"just before":            {func(h *hand) { h.at.First = h.at.Now.Add(-10*time.Minute + time.Second) }, false},
		"to the second":          {func(h *hand) { h.at.First = h.at.Now.Add(-10 * time.Minute) }, true},
		"passed with a reason":   {func(h *hand) { h.at.Overridden = true }, false},
		"nothing pulled before":  {func(h *hand) { h.at.First = time.Time{} }, false},
		"this one waits for it":  {func(h *hand) { h.at.Supersedes = 0 }, false},
		"a pass before the last": {func(h *hand) { h.at.Visit.Final = false }, false},
	} {
		t.Run(name, func(t *testing.T) {
			h := wrench(func(*Setup) {})
			h.enter(20)
			h.at.Now, h.at.First, h.at.Supersedes = testTime.Add(time.Hour), testTime, 7
			tt.change(h)
			effects := h.Step(h.at, Input{Kind: Reading, Sample: analysis.Sample{X: 98}, Flags: frame.FlagPress})
			require.NotEmpty(t, effects)
			block, ok := effects[0].(Block)
			assert.Equal(t, tt.block, ok)
			if ok {
				assert.Equal(t, "re-strike bolt-torque-crown-wheel", block.Name)
				assert.Contains(t, block.Text, "10 minutes are over")
				assert.Len(t, effects, 1)
			}
		})
	}
}

func TestTypedTorques(t *testing.T) {
	h := wrench(func(s *Setup) { s.Keyed, s.Sheet.Bolts[0].LeftHand = true, true })
	assert.Equal(t, "Pull bolt 1 to 29.40 N·m (pass 1 of 3). LEFT-HAND thread.", h.ask())
	h.typeLine(t, "-3")
	assert.Equal(t, "-3 is negative: crown wheel bolts cannot be.", h.shown)
	h.typeLine(t, "58.7") // twice is 58.8
	require.Len(t, h.taken, 1)
	assert.Contains(t, h.shown, "over its 29.40 N·m")
	assert.Equal(t, record.Pass{N: 1, Of: 3, Percent: 30}, h.taken[0].Pass)
	assert.Equal(t, record.QualityKeyed, h.taken[0].Quality)
	h.typeLine(t, "60")
	require.Len(t, h.taken, 1)
	assert.Equal(t, "60 N·m is 2.04 times the target of 29.4 N·m", h.shown)
	h.typeLine(t, "60")
	require.Len(t, h.taken, 2)
	h.typeLine(t, "21.7 lbf ft") // 29.42 N·m by NIST SP 811, B.8
	require.Len(t, h.taken, 3)
	assert.InDelta(t, 29.42125, h.taken[2].Value, 1e-4)
}
