package main

import (
	"fmt"
	"runtime/debug"
)

// A crash is a panic of a goroutine that works beside the dashboard. It is
// passed on as an error, so that the terminal is restored and the record closed
// before run panics with it.
type crash struct {
	cause any
	stack []byte // of the goroutine that panicked
}

// Error says what the panic was about and where.
func (c *crash) Error() string { return fmt.Sprintf("%v\n\n%s", c.cause, c.stack) }

// caught returns what f returns, or its panic as a *crash.
func caught(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &crash{p, debug.Stack()}
		}
	}()
	return f()
}
