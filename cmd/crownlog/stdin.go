package main

import (
	"context"
	"errors"
	"io"
)

// errInterrupted ends a verb that was stopped before it had read its input: it
// has no result.
var errInterrupted = errors.New("interrupted before the end of the input")

// stdin is standard input, which ends with the run: a Read that waits for a
// person or another program does not hold a verb up.
func (c *console) stdin() io.Reader {
	if c.ctx == nil {
		return c.in
	}
	return &interruptible{ctx: c.ctx, r: c.in}
}

// An interruptible reader fails with errInterrupted once ctx ends. The Read
// that waits then is left to end by itself.
type interruptible struct {
	ctx context.Context
	r   io.Reader
	buf []byte
}

// Read implements io.Reader.
func (i *interruptible) Read(p []byte) (int, error) {
	if i.ctx.Err() != nil {
		return 0, errInterrupted
	}
	if len(i.buf) < len(p) {
		i.buf = make([]byte, len(p))
	}
	type result struct {
		n   int
		err error
	}
	done := make(chan result, 1)
	go func() {
		n, err := i.r.Read(i.buf[:len(p)])
		done <- result{n, err}
	}()
	select {
	case got := <-done:
		return copy(p, i.buf[:got.n]), got.err
	case <-i.ctx.Done():
		return 0, errInterrupted
	}
}
