package main

import (
	"bytes"
	"io"
	"unicode"
)

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
	n, err := r.to.Write(harmless(p))
	if err != nil {
		r.err = &resultsError{err}
		return min(n, len(p)), r.err
	}
	return len(p), nil
}

// harmless is text without what a terminal would obey: a record and a sheet are
// files that anybody can have written.
func harmless(p []byte) []byte {
	return bytes.Map(func(r rune) rune {
		if obeyed(r) {
			return unicode.ReplacementChar
		}
		return r
	}, p)
}

// obeyed reports whether a terminal does something else than show r: a control but
// for those of lines and columns, or one that turns the order of text round.
func obeyed(r rune) bool {
	return unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r)
}

// A resultsError is results that were not printed, all or some of them.
type resultsError struct{ err error }

func (e *resultsError) Error() string { return "results could not be printed: " + e.err.Error() }
func (e *resultsError) Unwrap() error { return e.err }
