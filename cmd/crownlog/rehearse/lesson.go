package rehearse

import (
	"context"
	"strings"
	"sync"

	"crownlog/device/simbench"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A Lesson makes a rehearsal teach: it stops before the first step of each kind,
// says in a line why that is done, and plays it at life speed, while keys make a
// fitter's mistakes. Says and Key may be called from any goroutine.
type Lesson struct {
	bench   *simbench.Bench
	changed func()  // what Says has changed
	slow    float64 // pace of a first step
	quick   float64 // of one whose kind was seen, and of an air test

	mu   sync.Mutex
	said string
	goOn chan struct{}
	told map[string]bool
	step string // feature under way
	deg  float64
	slip float64 // of the pinion, mm a rock
	out  bool    // the indicator's plug
}

// NewLesson is a lesson on a bench, whose hands go at a pace; changed is called when
// Says has something else to say.
func NewLesson(b *simbench.Bench, pace float64, changed func()) *Lesson {
	return &Lesson{bench: b, changed: changed, slow: pace, quick: max(pace, WatchedPace), told: map[string]bool{}}
}

// WatchedPace is that of a rehearsal that is watched, in simulated seconds a real one: a
// job in some minutes.
const WatchedPace = 12

// slipping is how far a pinion that is not held goes on with each rock, in mm.
const slipping = 0.02

// Says is why the rehearsal stands still; "" while it goes on.
func (l *Lesson) Says() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.said
}

// begin stops before a step of a kind that was not seen yet, until a key or ctx ends
// it. A nil lesson stops nowhere.
func (l *Lesson) begin(ctx context.Context, feature string) {
	if l == nil {
		return
	}
	l.mu.Lock()
	first, stop := !l.told[feature], make(chan struct{})
	l.told[feature], l.step, l.said, l.goOn = true, feature, "", stop
	pace := l.quick
	if first && feature != record.FeatureLeakDown {
		pace = l.slow
	}
	if first {
		l.said = words.Why(feature)
	}
	if l.said == "" {
		close(stop)
	}
	l.bench.SetPace(pace)
	l.mu.Unlock()
	l.changed()
	select {
	case <-stop:
	case <-ctx.Done():
	}
}

// Key takes a key and reports whether it meant something: space goes on, the others
// are mistakes at the gear: S and P a second time put them right.
func (l *Lesson) Key(key rune) bool {
	l.mu.Lock()
	defer l.mu.Unlock()
	switch {
	case l.said != "":
		if key == ' ' {
			l.said = ""
			close(l.goOn)
		}
		return true
	case key == 'P' && (l.step == record.FeatureBacklash || strings.HasPrefix(l.step, "runout-")):
		if l.out = !l.out; l.out {
			l.bench.Indicator.Unplug()
		} else if l.bench.Indicator.Replug() != nil {
			l.out = true // the screen goes on saying that it is away
		}
		return true
	case l.step != record.FeatureBacklash:
		return false
	}
	does, ok := map[rune][]simbench.Action{
		'K': {simbench.PressZero()},
		'F': {simbench.Flick(), simbench.Flick()},
		'T': {simbench.TurnTo(l.deg + 45), simbench.TurnTo(l.deg)},
		'S': {simbench.SlipPinion(slipping - l.slip)},
	}[key]
	if key == 'S' { // pressed again it is held
		l.slip = slipping - l.slip
	}
	l.bench.Do(does...)
	return ok
}

// turned notes where the hands are.
func (l *Lesson) turned(deg float64) {
	if l != nil {
		l.mu.Lock()
		defer l.mu.Unlock()
		l.deg = deg
	}
}
