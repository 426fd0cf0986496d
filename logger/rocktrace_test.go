package logger

import (
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"crownlog/device"
)

// A handTrace makes the indicator readings of a person rocking a wheel:
// straight traverses and rests with noise, rounded to the gauge's digit. It
// shares nothing with the simulated bench.
type handTrace struct {
	at     time.Time
	rate   float64 // readings a second
	digit  float64 // mm
	noise  float64 // mm
	rng    *rand.Rand
	events []device.Event
}

func newHandTrace(seed uint64) *handTrace {
	return &handTrace{at: testTime, rate: 50, digit: 0.001, noise: 0.0008, rng: rand.New(rand.NewPCG(seed, 7))}
}

// put adds one reading.
func (h *handTrace) put(x float64) {
	h.at = h.at.Add(time.Duration(float64(time.Second) / h.rate))
	v := math.Round((x+h.noise*h.rng.NormFloat64())/h.digit) * h.digit
	v = math.Round(v*1e6) / 1e6
	h.events = append(h.events, device.Event{
		Kind: device.EventReading, Time: h.at, Gauge: "indicator",
		Reading: device.Reading{Time: h.at, Gauge: "indicator", Raw: fmt.Sprint(v), Value: v, Unit: "mm"},
	})
}

func (h *handTrace) hold(x, seconds float64) {
	for range int(seconds * h.rate) {
		h.put(x)
	}
}

func (h *handTrace) move(from, to, seconds float64) {
	n := int(seconds * h.rate)
	for i := range n {
		h.put(from + (to-from)*float64(i+1)/float64(n+1))
	}
}

// rock goes to and fro between low and low+backlash.
func (h *handTrace) rock(low, backlash float64, rocks int) {
	for range rocks {
		h.move(low, low+backlash, 0.25)
		h.hold(low+backlash, 0.6)
		h.move(low+backlash, low, 0.25)
		h.hold(low, 0.6)
	}
}

// liftAndTurn takes the plunger off and sets it down at another level.
func (h *handTrace) liftAndTurn(from, to float64) {
	h.move(from, 3.5, 0.3)
	h.hold(3.5, 1.5)
	h.move(3.5, to, 0.3)
	h.hold(to, 0.3)
}

// take hands over the events made so far.
func (h *handTrace) take() []device.Event {
	ev := h.events
	h.events = nil
	return ev
}

// timeStep spaces typed values.
const timeStep = 10 * time.Second

func timeStepOf(i int) time.Duration { return time.Duration(i + 1) }
