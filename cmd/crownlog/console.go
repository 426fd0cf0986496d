package main

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"regexp"
	"runtime"
	"strings"
	"text/tabwriter"

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
	_, _ = c.err.Write(harmless(fmt.Appendf(nil, "crownlog: "+format+"\n", args...)))
}

// json prints v as one line on out.
func (c *console) json(v any) error {
	enc := json.NewEncoder(c.out)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

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
	return func(w io.Writer) { fmt.Fprintln(w, strings.Join(lines, "\n")) }
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

// blankEnds are the blanks a table leaves behind its last cells.
var blankEnds = regexp.MustCompile(` +\n`)

// printTable prints rows with their cells in columns.
func printTable(w io.Writer, rows [][]string) error {
	var listed bytes.Buffer
	t := tabwriter.NewWriter(&listed, 0, 0, 2, ' ', 0)
	for _, row := range rows {
		fmt.Fprintln(t, strings.Join(row, "\t"))
	}
	t.Flush()
	_, err := w.Write(blankEnds.ReplaceAll(listed.Bytes(), []byte("\n")))
	return err
}
