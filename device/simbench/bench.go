package simbench

import (
	"cmp"
	"context"
	"fmt"
	"math/rand/v2"
	"os"
	"sync"
	"time"
)

// A Bench is the axle, the hands and the gauges. Its methods may be called
// from any goroutine.
type Bench struct {
	Indicator   *Instrument // the dial indicator, in mm
	Wrench      *Instrument // the torque wrench, in N·m
	Preload     *Instrument // the small torque meter at the pinion, in N·m
	Pressure    *Instrument // the gauge in the air line, in kPa
	Thermometer *Instrument // in the air line, in °C

	config      Config
	instruments []*Instrument // all of them
	links       string        // folder of the stable port names
	changed     chan struct{} // one slot: a gauge was opened or closed

	mu       sync.Mutex
	clock    float64 // seconds since startOfTime
	expected int     // gauges listened to before time passes
	hands    *hands
}

// New builds a bench and plugs its gauges in. It fails where the system gives
// no pseudo-terminal. Close frees what it holds.
func New(c Config) (*Bench, error) {
	c.AckWait = cmp.Or(c.AckWait, 200*time.Millisecond) // far longer than a reader takes that acknowledges at all
	links, err := os.MkdirTemp("", "crownlog-bench-")
	if err != nil {
		return nil, fmt.Errorf("folder for the bench's ports: %w", err)
	}
	b := &Bench{config: c, links: links, changed: make(chan struct{}, 1), expected: 1}
	h := newHands(c.Seed, newGearSet(c.Seed))
	b.hands = h
	random := func(s stream) *rand.Rand { return newRand(c.Seed, s) }
	bolt := func(t float64) float64 { return h.load(h.now.bolt, t) }
	pinion := func(t float64) float64 { return h.load(h.now.pinion, t) }
	// Lines a second, resolution, noise; fifty lines a second show the click of a
	// wrench, one shows the air.
	b.Indicator = newInstrument(b, "indicator", 20, 0.001, dial(random(dialStream), h))
	b.Wrench = newInstrument(b, "wrench", 50, 0.1, meter(random(wrenchStream), bolt, 0.05, "N.m"))
	b.Preload = newInstrument(b, "preload", 20, 0.01, meter(random(preloadStream), pinion, 0.01, "N.m"))
	b.Pressure = newInstrument(b, "pressure", 1, 0.1, meter(random(pressureStream), h.air.at, 0.1, "kPa"))
	b.Thermometer = newInstrument(b, "thermometer", 1, 0.01, meter(random(temperatureStream), h.air.celsius, 0.01, "degC"))
	b.instruments = []*Instrument{b.Indicator, b.Wrench, b.Preload, b.Pressure, b.Thermometer}
	for _, i := range b.instruments {
		if err := i.Replug(); err != nil {
			b.Close()
			return nil, err
		}
	}
	return b, nil
}

// Close unplugs every gauge and removes their port names.
func (b *Bench) Close() error {
	for _, i := range b.instruments {
		i.Unplug()
	}
	return os.RemoveAll(b.links)
}

// Expect lets time pass only while at least n gauges are listened to, so that
// several that start together start at the same moment of every run. A new
// bench expects one.
func (b *Bench) Expect(n int) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.expected = n
}

// Now is the bench's own time. It stands still while nobody listens to a
// gauge, and while a line is not yet acknowledged.
func (b *Bench) Now() time.Time {
	b.mu.Lock()
	defer b.mu.Unlock()
	return startOfTime.Add(time.Duration(b.clock * float64(time.Second)))
}

// Do adds to what the hands do next. They finish the movement they are in
// first. While nobody listens to a gauge it is done at once, except what is
// done for a gauge: turning, pulling and filling wait for a listener.
func (b *Bench) Do(actions ...Action) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.hands.queue = append(b.hands.queue, actions...)
	if next, _ := b.due(); next == nil {
		b.clock = b.hands.finish(b.clock)
	}
}

// due returns the gauge that sends next, nil if nobody listens, and how many are
// listened to. The caller holds b.mu.
func (b *Bench) due() (next *Instrument, listeners int) {
	for _, i := range b.instruments {
		if !i.listening {
			continue
		}
		listeners++
		if next == nil || i.next < next.next {
			next = i
		}
	}
	return next, listeners
}

// TruthAt is the true backlash in mm with the wheel at angleDeg, as the plunger
// at the heel of the tooth there meets it, as things stand now.
func (b *Bench) TruthAt(angleDeg float64) float64 {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.hands.gears.backlash(angleDeg)
}

// Idle reports whether the hands have done all they were told.
func (b *Bench) Idle() bool {
	b.mu.Lock()
	defer b.mu.Unlock()
	return len(b.hands.queue) == 0 && b.hands.now.habit
}

// Run lets time pass until ctx ends; it returns nil then. Only one Run may be
// under way.
func (b *Bench) Run(ctx context.Context) error {
	var pace pacer
	for ctx.Err() == nil {
		i, line, at, ratio := b.tick()
		if i == nil {
			select {
			case <-ctx.Done():
			case <-b.changed:
			}
			continue
		}
		if !pace.wait(ctx, at, ratio) {
			break
		}
		i.emit(ctx, line)
	}
	return nil
}

// SetPace says how many simulated seconds pass in a real one from now on.
func (b *Bench) SetPace(pace float64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.config.Pace = pace
}

// tick moves the clock to the next line of a gauge and returns it, with the pace; no
// gauge if nobody listens.
func (b *Bench) tick() (i *Instrument, line []byte, at, pace float64) {
	b.mu.Lock()
	defer b.mu.Unlock()
	due, listeners := b.due()
	if due == nil || listeners < b.expected {
		return nil, nil, 0, b.config.Pace
	}
	at = due.next
	b.hands.advance(at)
	b.clock, due.next = at, at+1/due.rate
	return due, []byte(due.send(at, due.Resolution) + "\r\n"), at, b.config.Pace
}

// Config says which axle is on the bench and how fast its time passes. The
// zero value is usable.
type Config struct {
	Seed    int64
	Pace    float64       // simulated seconds per real one; 0: as fast as the reader acknowledges
	AckWait time.Duration // real time to wait for an acknowledgement; 0: 200 ms
}

// The set is a light axle's, invented. Its deviations move the backlash by some
// 0.03 mm over a turn, a fourth of a usual window, so that a sound set stays
// inside and the swing is far above the noise of the indicator.
const (
	pinionTeeth  = 11
	wheelTeeth   = 43
	eccentricity = 0.012 // mm of backlash, amplitude once per turn
	warp         = 0.004 // mm of backlash, amplitude twice per turn
	toothError   = 0.002 // mm of backlash, standard deviation tooth to tooth
	pinionRunout = 0.003 // mm of backlash, amplitude once per pinion turn
)

// startOfTime is when the bench's clock begins: a fixed day, so that a record
// of a seed is the same whenever it is made.
var startOfTime = time.Date(2026, time.March, 1, 8, 0, 0, 0, time.UTC)

// A pacer holds simulated time back to a ratio of real time.
type pacer struct {
	real time.Time // of simulated second sim
	sim  float64
}

// wait sleeps until the real time of simulated second at; false if ctx ended. ratio
// is how many simulated seconds pass in a real one; 0: no holding back.
func (p *pacer) wait(ctx context.Context, at, ratio float64) bool {
	if ratio <= 0 {
		return true
	}
	p.real = p.real.Add(time.Duration((at - p.sim) / ratio * float64(time.Second)))
	p.sim = at
	if time.Since(p.real) > time.Second/4 { // at first, after time stood still, or too far behind
		p.real = time.Now()
	}
	select {
	case <-ctx.Done():
		return false
	case <-time.After(time.Until(p.real)):
		return true
	}
}
