package main

import "io"

// results is where results are printed. It remembers the first write that
// failed, so that a verb can print without asking after each line, and writes
// nothing after it.
type results struct {
	to  io.Writer
	err error // a *resultsError, or nil
}

// Write implements io.Writer.
func (r *results) Write(p []byte) (int, error) {
	if r.err != nil {
		return 0, r.err
	}
	n, err := r.to.Write(p)
	if err != nil {
		r.err = &resultsError{err}
	}
	return n, r.err
}

// A resultsError is results that were not printed, all or some of them.
type resultsError struct{ err error }

func (e *resultsError) Error() string { return "results could not be printed: " + e.err.Error() }
func (e *resultsError) Unwrap() error { return e.err }
