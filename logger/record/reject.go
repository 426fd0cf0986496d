package record

import (
	"fmt"
	"time"
)

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
