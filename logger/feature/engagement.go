package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// The qualities of a try in which the lock failed. Such a try has no value and
// is outside whatever the window is.
const qualityNoLock, qualityNoFree = "did-not-lock", "did-not-free"

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
		positions: cycles,
		place:     "cycle",
		assess:    (*Assessment).tries,
		outside:   TryFailed,
		typed:     func(s Setup) Measurer { return &tries{&entry{Setup: s}} },
		example:   "yes, yes 0.6 s, no lock or no free",
		parse:     parseTry,
		Word: func(c record.Capture) string {
			if math.IsNaN(c.Value) {
				return cmp.Or(c.Note, "did not lock")
			}
			return ""
		},
		Check:       notNegative,
		uncertainty: func(_ Setup, v float64) float64 { return math.Hypot(handTiming, gum.Resolution(lastDigit(v))) },
		store: func(_ Setup, _ At, c record.Capture) []Effect {
			c.Note = lockedAndFreed
			return []Effect{Captured(c), Advance{}}
		},
		ask: func(s Setup, at At) string {
			how := "Press y, with the seconds it took if you have them, or l or f; then enter."
			if s.NoKeys {
				how = "Type yes, or the seconds it took to lock; else no lock or no free."
			}
			return fmt.Sprintf("Apply the air, turn a wheel by hand, vent (%s of %d). Did it lock and free? ", at.Position.Label, len(s.Positions)) + how
		},
	}
}

// tries takes one try of the lock after the other: whether it locked and freed,
// and in what time if that was taken.
type tries struct{ *entry }

func (m *tries) Step(at At, in Input) []Effect {
	switch {
	case in.Kind == Accept:
		return one(Warn("Say how it went: yes, no lock or no free."))
	case in.Kind != Typed || in.Unit != tryLocked && in.Unit != tryFreed: // a time
		return m.entry.Step(at, in)
	}
	c := newCapture(math.NaN(), math.NaN(), 1, record.QualityKeyed, lockedAndFreed)
	c.Time, c.Gauge = in.Time, in.Gauge
	if in.Value > 0 {
		return []Effect{Captured(c), Advance{}}
	}
	c.Quality, c.Note = qualityNoFree, "locked"
	look := "the return spring and load on the dogs"
	if in.Unit == tryLocked {
		c.Quality, c.Note = qualityNoLock, ""
		look = "air, wiring and travel"
	}
	return []Effect{Captured(c), Advance{}, Fault{Text: fmt.Sprintf("%s: it %s. That is on record; look for %s before going on.",
		Capitalise(at.Position.Label), tryFailures[c.Quality], look)}}
}

// lockedAndFreed is the note of a try that went well.
const lockedAndFreed = "locked and freed"

// What one try of the lock is told as: a state with 1 for reached and 0 for
// not, or the seconds it took to lock, which says that it also freed.
const tryLocked, tryFreed = "locked", "freed"

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
	a.sum(s, counted, 0, a.Spec, nil)
	if slowest := a.Round.Loosest; a.Round.N > 0 {
		a.Value, a.U = slowest.Value, slowest.U
	}
	a.Missing, a.Round.Outside = nil, nil
	failed := ""
	for i := 1; i <= tries; i++ {
		switch k := slices.IndexFunc(a.Results, func(r Result) bool { return r.Capture.Position == i }); {
		case k < 0:
			a.Missing = append(a.Missing, i)
		case TryFailed(a.Results[k].Capture):
			a.Round.Outside = append(a.Round.Outside, i)
			failed = cmp.Or(failed, fmt.Sprintf("cycle %d %s", i, tryFailures[a.Results[k].Capture.Quality]))
		}
	}
	a.Round.Missing = a.Missing
	worked := tries - len(a.Missing) - len(a.Round.Outside)
	sofar := fmt.Sprintf("%s %d times of %d", lockedAndFreed, worked, tries)
	switch {
	case failed != "":
		a.Verdict, a.reason = gum.Outside, reason{words: failed}
	case a.Verdict == gum.Outside:
	case len(a.Missing) > 0:
		a.Verdict, a.reason = gum.NotDecided, reason{words: sofar + " so far"}
	case !a.Spec.Limits.Any():
		a.Verdict, a.reason = gum.NotDecided, reason{words: sofar}
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
