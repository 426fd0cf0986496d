package live

import (
	"fmt"
	"runtime/debug"
)

// A Crash is a panic of a goroutine that works beside the dashboard. It is
// passed on as an error, so that the terminal is restored and the record closed
// before the program panics with it.
type Crash struct {
	Cause any
	stack []byte // of the goroutine that panicked
}

// Error says what the panic was about and where.
func (c *Crash) Error() string { return fmt.Sprintf("%v\n\n%s", c.Cause, c.stack) }

// Caught returns what f returns, or its panic as a *Crash.
func Caught(f func() error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = &Crash{p, debug.Stack()}
		}
	}()
	return f()
}
