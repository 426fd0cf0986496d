package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// The qualities of a try in which the lock failed. Such a try has no value and
// is outside whatever the window is.
const (
	qualityNoLock = "did-not-lock"
	qualityNoFree = "did-not-free"
)

// tryFailures says how a try failed, by its quality.
var tryFailures = map[string]string{qualityNoLock: "did not lock", qualityNoFree: "did not free"}

// TryFailed reports whether a capture is a try in which the lock did not lock
// or did not free.
func TryFailed(c record.Capture) bool {
	return c.Feature == record.FeatureEngagement && tryFailures[c.Quality] != ""
}

// handTiming is the standard uncertainty, in s, of a time taken by hand. Common
// practice, no source.
const handTiming = 0.1

// engagement is tried a number of times.
func engagement() Feature {
	return Feature{
		Feature:   record.FeatureOf(record.FeatureEngagement),
		Caution:   "Wheels clear on stands, chocked, neutral, hands only.",
		positions: cycles,
		place:     "cycle",
		assess:    (*Assessment).tries,
		outside:   TryFailed,
		word:      TryWord,
		typed:     func(s Setup) Measurer { return &tries{entry: &entry{Setup: s}} },
		example:   "yes, yes 0.6 s, no lock or no free",
		parse:     parseTry,
		Word: func(c record.Capture) string {
			if math.IsNaN(c.Value) {
				return cmp.Or(c.Note, "did not lock")
			}
			return ""
		},
	}
}

// tries takes one try of the lock after the other: whether it locked and freed,
// and in what time if that was taken.
type tries struct{ *entry }

func (m *tries) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Accept:
		return one(Warn("Say how it went: yes, no lock or no free."))
	case Typed:
		return m.try(at, in)
	}
	return m.entry.Step(at, in)
}

func (m *tries) try(at At, in Input) []Effect {
	c := newCapture(math.NaN(), math.NaN(), 1, record.QualityKeyed, "locked and freed")
	c.Time, c.Gauge = in.Time, in.Gauge
	effects := []Effect{nil, Advance{}}
	switch {
	case in.Unit == tryLocked && in.Value == 0:
		c.Quality, c.Note = qualityNoLock, ""
		effects = append(effects, Fault{Text: Capitalise(at.Position.Label) + ": it did not lock. That is on record; look for air, wiring and travel before going on."})
	case in.Unit == tryFreed && in.Value == 0:
		c.Quality, c.Note = qualityNoFree, "locked"
		effects = append(effects, Fault{Text: Capitalise(at.Position.Label) + ": it did not free. That is on record; look for the return spring and load on the dogs before going on."})
	case in.Unit == tryFreed:
	default:
		seconds, err := m.Of.Convert(in.Value, in.Unit)
		if err == nil && seconds < 0 {
			err = fmt.Errorf("%g is negative: a time cannot be", in.Value)
		}
		if err != nil {
			return one(warnOf(err))
		}
		if refused := m.otherAnswer(at, seconds); refused != nil {
			return refused
		}
		if question := m.ask(at, seconds); question != nil {
			return one(question)
		}
		c.Value = seconds
		c.U = math.Hypot(handTiming, gum.Resolution(lastDigit(seconds)))
	}
	effects[0] = Captured(c)
	return effects
}

func (m *tries) Ask(at At) string {
	text := fmt.Sprintf("Apply the air, turn a wheel by hand, vent (%s of %d). Did it lock and free? ", at.Position.Label, len(m.Positions))
	if m.NoKeys {
		return text + "Type yes, or the seconds it took to lock; else no lock or no free."
	}
	return text + "Press y, with the seconds it took if you have them, or l or f; then enter."
}

// What one try of the lock is told as: a state with 1 for reached and 0 for
// not, or the seconds it took to lock, which says that it also freed.
const (
	tryLocked = "locked"
	tryFreed  = "freed"
)

// tryWords are the words for a try, without spaces.
var tryWords = map[string]frame.KeyedValue{
	"y": {Value: 1, Unit: tryFreed}, "yes": {Value: 1, Unit: tryFreed},
	"nolock": {Unit: tryLocked}, "notlocked": {Unit: tryLocked}, "didnotlock": {Unit: tryLocked},
	"nofree": {Unit: tryFreed}, "notfreed": {Unit: tryFreed}, "didnotfree": {Unit: tryFreed},
}

// parseTry reads one try of the lock: yes where it locked and freed, with the
// seconds it took to lock if they were taken; else no lock or no free.
func parseTry(line string, _ float64) ([]frame.KeyedValue, error) {
	line = strings.ToLower(strings.TrimSpace(line))
	if v, ok := tryWords[strings.ReplaceAll(line, " ", "")]; ok {
		return []frame.KeyedValue{v}, nil
	}
	if line == "no" || line == "n" {
		return nil, errors.New("which of them failed is not said")
	}
	seconds := strings.TrimPrefix(strings.TrimPrefix(line, "yes"), "y")
	values, err := parseOne(strings.TrimSpace(seconds), 0)
	if err != nil {
		return nil, err
	}
	if values[0].Unit == "" {
		values[0].Unit = "s"
	}
	if rankTime(values[0].Unit) == 0 || values[0].Value < 0 {
		return nil, errors.New("not a time")
	}
	return values, nil
}

// tries judges the tries of the lock: outside as soon as one failed, by the
// window where there is one and each try has its time, and not decided without.
func (a *Assessment) tries(s sheet.Sheet, counted, _ []record.Capture, tries int) {
	a.sum(s, counted, 0, a.Spec, every)
	a.Missing = nil
	at := make(map[int]Result)
	for _, r := range a.Results {
		at[r.Capture.Position] = r
		if r.Capture.Value > a.Value || math.IsNaN(a.Value) {
			a.Value, a.U = r.Capture.Value, r.Capture.U
		}
	}
	worked, failed := 0, ""
	a.Round.Outside = nil
	for i := 1; i <= tries; i++ {
		switch r, ok := at[i]; {
		case !ok:
			a.Missing = append(a.Missing, i)
		case TryFailed(r.Capture):
			a.Round.Outside = append(a.Round.Outside, i)
			failed = cmp.Or(failed, fmt.Sprintf("cycle %d %s", i, tryFailures[r.Capture.Quality]))
		default:
			worked++
		}
	}
	a.Round.Missing = a.Missing
	switch {
	case failed != "":
		a.Verdict, a.reason = gum.Outside, reason{words: failed}
	case a.Verdict == gum.Outside:
	case len(a.Missing) > 0:
		a.Verdict, a.reason = gum.NotDecided, reason{words: fmt.Sprintf("locked and freed %d times of %d so far", worked, tries)}
	case !a.Spec.Limits.Any():
		a.Verdict, a.reason = gum.NotDecided, reason{words: fmt.Sprintf("locked and freed %d times of %d", worked, tries)}
	case a.Round.N < worked:
		a.Verdict, a.reason = gum.NotDecided, reason{words: "the window is a time, and not every try was timed"}
	}
}

// TryWord is how a try of the lock went, "yes" or "no"; "" for anything else.
func TryWord(c record.Capture) string {
	switch {
	case TryFailed(c):
		return "no"
	case c.Feature == record.FeatureEngagement:
		return "yes"
	}
	return ""
}
