package feature

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/device/frame"
)

// A hand works a gauge that a measurer reads: moves and rests with noise, rounded
// to the gauge's digit.
type hand struct {
	*stand
	rate  float64 // readings a second
	digit float64
	noise float64
	rng   *rand.Rand
	now   float64
}

// newHand is a fine gauge that sends fifty readings a second.
func newHand(name string, seed uint64, change func(s *Setup), whole bool) *hand {
	return &hand{stand: newStand(name, change, whole), rate: 50, digit: 0.001, noise: 0.0008, rng: rand.New(rand.NewPCG(seed, 7))}
}

// coarse makes it a 0.01 mm dial that sends ten readings a second.
func (h *hand) coarse() *hand {
	h.rate, h.digit, h.noise = 10, 0.01, 0.0015
	return h
}

func (h *hand) put(x float64) {
	h.now += 1 / h.rate
	v := math.Round((x+h.noise*h.rng.NormFloat64())/h.digit) * h.digit
	h.step(Input{Kind: Reading, Sample: analysis.Sample{T: h.now, X: math.Round(v*1e6) / 1e6}})
}

// press is a value that the gauge sends at the press of its key.
func (h *hand) press(values ...float64) {
	for _, v := range values {
		h.now += 4
		h.step(Input{Kind: Reading, Sample: analysis.Sample{T: h.now, X: v}, Flags: frame.FlagPress})
	}
}

func (h *hand) hold(x, seconds float64) {
	for range int(seconds * h.rate) {
		h.put(x)
	}
}

func (h *hand) move(from, to, seconds float64) {
	n := int(seconds * h.rate)
	for i := range n {
		h.put(from + (to-from)*float64(i+1)/float64(n+1))
	}
}

// rock goes to and fro between low and low+backlash.
func (h *hand) rock(low, backlash float64, rocks int) {
	for range rocks {
		h.move(low, low+backlash, 0.25)
		h.hold(low+backlash, 0.6)
		h.move(low+backlash, low, 0.25)
		h.hold(low, 0.6)
	}
}

// turn goes from one angle to another of a surface as an arm does, slowly at
// both ends.
func (h *hand) turn(surface func(deg float64) float64, from, to, seconds float64) {
	n := int(seconds * h.rate)
	for i := range n {
		share := (1 - math.Cos(math.Pi*float64(i+1)/float64(n))) / 2
		h.put(surface(from + share*(to-from)))
	}
}

// setUp sets the gauge on a surface: the plunger is put on, the arm is
// tightened, zero is pressed.
func (h *hand) setUp(level float64) {
	h.hold(0, 3)
	h.move(0, 1.4, 0.3)
	h.hold(1.4, 4)
	h.hold(1.43, 5)
	h.hold(level, 6)
}

func (h *hand) accept() { h.step(Input{Kind: Accept}) }

func (h *hand) ask() string { return h.Ask(h.at) }

// pull is one of a wrench: it rises to the peak in a second and lets go.
func (h *hand) pull(peak float64) {
	h.rate, h.digit, h.noise = 100, 0.1, 0
	h.move(0, peak, 1)
	h.hold(peak, 0.05)
	h.move(peak, 0, 0.2)
	h.hold(0, 0.5)
}

// typeLine types a line.
func (h *hand) typeLine(t *testing.T, line string) {
	t.Helper()
	values, err := ParseTyped(h.name, line, 0.01)
	require.NoError(t, err)
	for _, v := range values {
		h.key(v.Value, v.Unit)
	}
}

func assertTimes(t *testing.T, want time.Duration, got time.Time) {
	t.Helper()
	assert.Equal(t, want, got.Sub(testTime))
}
