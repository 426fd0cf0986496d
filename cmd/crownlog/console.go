package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"strings"

	"golang.org/x/term"
)

// A console is where a verb reads and prints. Results go to out and nothing
// else does; warnings, progress and errors go to err.
type console struct {
	ctx context.Context // of the run; nil in tests that need none
	in  io.Reader
	out io.Writer
	err io.Writer
}

// say prints one line on err after the program's name.
func (c *console) say(format string, args ...any) {
	fmt.Fprintf(c.err, "crownlog: "+format+"\n", args...)
}

// json prints v as one line on out.
func (c *console) json(v any) error {
	enc := json.NewEncoder(c.out)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// fail prints err with what to do about it and returns its exit code.
func (c *console) fail(err error) int {
	for line := range strings.Lines(explain(err)) {
		c.say("%s", strings.TrimSpace(line))
	}
	return exitCode(err)
}

// asks says whether a person can be asked a question.
func (c *console) asks() bool { return isTerminal(c.in) && isTerminal(c.err) }

// screen says whether a dashboard can be drawn.
func (c *console) screen() bool {
	return isTerminal(c.out) && os.Getenv("TERM") != "" && os.Getenv("TERM") != "dumb"
}

func isTerminal(v any) bool {
	if r, ok := v.(*results); ok {
		v = r.to
	}
	f, ok := v.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
