package record

import (
	"fmt"
	"slices"
	"time"
)

// Words of Capture.Quality besides the fault words of analysis.
const (
	QualityOK       = "ok"
	QualityKeyed    = "keyed"
	QualityClick    = "click"    // of a bolt: a wrench without a reading clicked at its setting
	QualityRejected = "rejected" // undone: what it supersedes does not stand
	QualityLost     = "lost"     // stands in for a damaged line of the journal
)

// Active returns the captures that count, in order: neither superseded by a
// later one nor rejected. Rejecting a capture brings back the one it had
// superseded, until a new capture supersedes the rejection.
func Active(cs []Capture) []Capture {
	st := activityOf(cs)
	active := make([]Capture, 0, max(0, len(cs)-len(st.dead)))
	for _, c := range cs {
		if !st.dead[c.ID] {
			active = append(active, c)
		}
	}
	return active
}

// An activity says by ID which captures are not active, and what each rejection
// brought back (0: nothing).
type activity struct {
	dead       map[int]bool
	supersedes map[int]int
	revived    map[int]int
}

// Revived is the ID of the capture that a rejection brought back, 0 for none.
func Revived(cs []Capture, rejection int) int { return activityOf(cs).revived[rejection] }

func activityOf(cs []Capture) activity {
	st := activity{dead: make(map[int]bool), supersedes: make(map[int]int), revived: make(map[int]int)}
	for _, c := range cs {
		if c.Supersedes > 0 {
			st.supersedes[c.ID] = c.Supersedes
			st.dead[c.Supersedes] = true
			if back := st.revived[c.Supersedes]; back > 0 {
				st.dead[back] = true
			}
		}
		if c.Quality == QualityRejected {
			st.dead[c.ID] = true
			st.revive(c.ID, st.supersedes[c.Supersedes])
		}
	}
	return st
}

// revive brings back what a rejected capture had superseded; where that was a
// rejection itself, what that one had brought back.
func (st activity) revive(rejection, earlier int) {
	if back, rejected := st.revived[earlier]; rejected {
		earlier = back
	}
	delete(st.dead, earlier)
	st.revived[rejection] = earlier
}

// ActiveOf is Active for one feature in one stage, whatever was done to the axle
// since. A
// stand-in for a lost line may supersede a capture of any feature.
func ActiveOf(cs []Capture, stage, name string) []Capture {
	var of []Capture
	for _, c := range cs {
		if c.Stage == stage && c.Feature == name || c.Quality == QualityLost {
			of = append(of, c)
		}
	}
	return slices.DeleteFunc(Active(of), func(c Capture) bool { return c.Stage != stage || c.Feature != name })
}

// LastTime is the latest time of the captures, which is not that of the last one
// where a clock was set back in between; zero: none.
func LastTime(cs []Capture) (last time.Time) {
	for _, c := range cs {
		if c.Time.After(last) {
			last = c.Time
		}
	}
	return last
}

// Reject takes back the standing capture, move, note, override or attachment
// with the given number and returns it as it was: a new line says so, and both
// stay in the journal. What the capture had superseded stands again. It fails
// for a number that is not there or does not stand.
func Reject(st Store, number int, at time.Time) (Capture, error) {
	cs := st.Captures()
	if number < 1 || number > len(cs) {
		return Capture{}, fmt.Errorf("no number %d in the record, which has %d lines", number, len(cs))
	}
	was := cs[number-1]
	switch {
	case was.Quality == QualityRejected:
		return Capture{}, fmt.Errorf("number %d takes number %d back already; record it anew instead", number, was.Supersedes)
	case activityOf(cs).dead[number]:
		return Capture{}, fmt.Errorf("number %d does not stand any more: a later line takes its place", number)
	}
	rejection := was
	rejection.Supersedes, rejection.Time, rejection.Quality, rejection.By = was.ID, at, QualityRejected, ""
	_, err := st.Append(rejection)
	return was, err
}
