package main

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"regexp"
	"runtime"
	"strings"
	"text/tabwriter"
	"unicode"

	"github.com/rivo/tview"
	"golang.org/x/term"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/logger/report"
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
	fmt.Fprintln(c.err, c.wrapped("crownlog: "+fmt.Sprintf(format, args...)))
}

// wrapped is a text for err without what a terminal would obey; one that is as narrow
// as most would break it in the middle of a word.
func (c *console) wrapped(text string) string {
	text = string(harmless([]byte(text)))
	file, _ := c.err.(*os.File)
	if width, _, err := term.GetSize(int(file.Fd())); err == nil {
		return strings.Join(tview.WordWrap(text, width), "\n")
	}
	return text
}

// json prints v as one line on out.
func (c *console) json(v any) error { return report.Encode(c.out, "", v) }

// print prints a result: v as JSON, or what text writes.
func (c *console) print(asJSON bool, v any, text func(io.Writer)) error {
	if asJSON {
		return c.json(v)
	}
	text(c.out)
	return nil
}

// inLines writes one line each.
func inLines(lines []string) func(io.Writer) {
	return func(w io.Writer) {
		for _, line := range lines {
			fmt.Fprintln(w, line)
		}
	}
}

// fail prints what err says, one line a mistake, with what to do about it, and
// returns the exit code of the worst of them. Nothing is said of results that are
// printed already, nor to a user who stopped the run and knows.
func (c *console) fail(err error) int {
	worst := exitOK
	for _, e := range parts(err) {
		code, hint := lookUp(e)
		worst = max(worst, code)
		if code > exitOutside {
			for line := range strings.Lines(strings.TrimSpace(e.Error()) + prefixed("; ", hint)) {
				c.say("%s", strings.TrimSpace(line))
			}
		}
	}
	return worst
}

// shellPlain is a word that no shell reads as anything else.
var shellPlain = regexp.MustCompile(`^[\w@%+:,./-]+$`)

// shellCommand is a command of this program as it can be typed into a shell.
func shellCommand(words ...string) string {
	line := "crownlog"
	for _, w := range words {
		switch {
		case shellPlain.MatchString(w):
		case runtime.GOOS == "windows":
			w = `"` + w + `"`
		default:
			w = "'" + strings.ReplaceAll(w, "'", `'\''`) + "'"
		}
		line += " " + w
	}
	return line
}

// asks says whether a person can be asked a question.
func (c *console) asks() bool { return isTerminal(c.in) && isTerminal(c.err) }

// ask puts a question to a person and returns the answer.
func (c *console) ask(question string) string {
	fmt.Fprint(c.err, question)
	answer, _ := bufio.NewReader(c.stdin()).ReadString('\n') // none is no
	return strings.TrimSpace(answer)
}

// screen says whether a dashboard can be drawn.
func (c *console) screen() bool {
	kind := os.Getenv("TERM")
	return isTerminal(c.out) && kind != "" && kind != "dumb" && dashboard.CheckTerminal() == nil
}

func isTerminal(v any) bool {
	if r, ok := v.(*results); ok {
		v = r.to
	}
	f, ok := v.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// printTable prints rows with their cells in columns.
func printTable(w io.Writer, rows [][]string) error {
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, row := range rows {
		fmt.Fprintln(t, strings.TrimRight(strings.Join(row, "\t"), "\t"))
	}
	return t.Flush()
}

// errInterrupted ends a verb that was stopped before it had read its input: it
// has no result.
var errInterrupted = errors.New("interrupted before the end of the input")

// stdin is standard input, which ends with the run: a Read that waits for a
// person or another program does not hold a verb up.
func (c *console) stdin() io.Reader {
	if c.ctx == nil {
		return c.in
	}
	return interruptible{c.ctx, c.in}
}

// An interruptible reader fails with errInterrupted once ctx ends. The Read
// that waits then is left to end by itself, with bytes of its own.
type interruptible struct {
	ctx context.Context
	r   io.Reader
}

// Read implements io.Reader.
func (i interruptible) Read(p []byte) (int, error) {
	var n int
	var err error
	own, done := make([]byte, len(p)), make(chan struct{})
	go func() {
		n, err = i.r.Read(own)
		close(done)
	}()
	select {
	case <-done:
		return copy(p, own[:n]), err
	case <-i.ctx.Done():
		return 0, errInterrupted
	}
}

// results is where results are printed. It remembers the first write that
// failed, so that a verb can print without asking after each line; it writes
// nothing after it, and ends the run.
type results struct {
	to   io.Writer
	stop func() // nil: there is none
	err  error  // nil: all was printed
}

// Write implements io.Writer.
func (r *results) Write(p []byte) (int, error) {
	if r.err != nil {
		return 0, r.err
	}
	n, err := r.to.Write(harmless(p))
	if err != nil {
		code := exitRecord
		if readerGone(err) { // enough was read, as with head
			code = exitOK
		}
		r.err = &hinted{fmt.Errorf("results could not be printed: %w", err), code, "what was recorded is safe"}
		if r.stop != nil {
			r.stop()
		}
		return min(n, len(p)), r.err
	}
	return len(p), nil
}

// harmless is text without what a terminal would obey: a record and a sheet are
// files that anybody can have written. That is a control but for those of lines and
// columns, or one that turns the order of text round.
func harmless(p []byte) []byte {
	return bytes.Map(func(r rune) rune {
		if unicode.IsControl(r) && r != '\n' && r != '\t' || unicode.Is(unicode.Bidi_Control, r) {
			return unicode.ReplacementChar
		}
		return r
	}, p)
}
