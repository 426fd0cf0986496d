//go:build unix

package main

import (
	"bytes"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var verbKills = flag.Int("kills", 3, "how often TestKilledVerbs kills each verb")

// TestKilledVerbs kills every verb that writes into a job, at any moment of its run.
// What it announced is there, the record is sound, derived files are whole, and the
// next run goes on.
func TestKilledVerbs(t *testing.T) {
	if testing.Short() {
		t.Skip("starts many programs")
	}
	t.Parallel()
	program, err := exec.LookPath("crownlog") // TestMain's
	require.NoError(t, err)
	whole := forgeable(t)
	require.Zero(t, crownlog(t, nil, "export", whole).code)
	damaged := filepath.Join(t.TempDir(), "job")
	require.NoError(t, os.CopyFS(damaged, os.DirFS(whole)))
	forger{t, damaged}.swap("captures.csv", ",oil-fill,", ",oil-fall,")
	photo := filepath.Join(whole, "report.html")
	announced := regexp.MustCompile(`as number (\d+)`)
	for verb, of := range map[string]struct {
		args  string
		stdin string
	}{
		"note": {"job note JOB words", ""}, "move": {"job move JOB 1", ""}, "override": {"job override JOB back-face no~time~for~it --stage bench", ""},
		"undo": {"job undo JOB 3", ""}, "attach": {"job attach JOB " + photo, ""}, "mend": {"job mend JOB --set-aside", ""},
		"measure": {"measure JOB --keyed --stage final --feature oil-fill --again", "2.1\n"},
		"export":  {"export JOB", ""}, "bundle": {"export JOB --bundle", ""}, "new": {"job new JOB --example", ""},
	} {
		longest := 0.0
		for n := range *verbKills + 1 {
			draw := rand.New(rand.NewPCG(uint64(n), uint64(len(verb))))
			dir := filepath.Join(t.TempDir(), "job")
			switch verb {
			case "new":
			case "mend":
				require.NoError(t, os.CopyFS(dir, os.DirFS(damaged)))
			default:
				require.NoError(t, os.CopyFS(dir, os.DirFS(whole)))
			}
			args := strings.Fields(of.args)
			for i, arg := range args {
				args[i] = strings.NewReplacer("JOB", dir, "~", " ").Replace(arg)
			}
			cmd := exec.Command(program, args...)
			var out bytes.Buffer
			cmd.Stdin, cmd.Stdout, cmd.Stderr = strings.NewReader(of.stdin), &out, &out
			begun := time.Now()
			require.NoError(t, cmd.Start())
			if n > 0 { // the first shows how long there is
				time.AfterFunc(time.Duration(draw.Float64()*longest*float64(time.Second)), func() { _ = cmd.Process.Kill() })
			}
			err := cmd.Wait()
			if n == 0 {
				require.LessOrEqual(t, cmd.ProcessState.ExitCode(), 1, "%s: %s", verb, out.String())
				longest = time.Since(begun).Seconds()
			}
			at := fmt.Sprintf("%s, kill %d", verb, n)
			if verb == "new" && err != nil {
				again := crownlog(t, nil, "job", "new", dir, "--example")
				assert.True(t, again.code == 0 || strings.Contains(again.err, "there is a job in it already"), "%s: %s", at, again.err)
			}
			if verb == "mend" && err != nil {
				_ = crownlog(t, nil, "job", "mend", dir, "--set-aside") // or it was done
			}
			for _, name := range []string{"report.html", "report.pdf", "record.csv"} {
				text, err := os.ReadFile(filepath.Join(dir, name))
				end := map[string]string{"report.html": "</html>\n", "report.pdf": "%%EOF\n", "record.csv": "\r\n"}[name]
				assert.True(t, err != nil || bytes.HasSuffix(text, []byte(end)), "%s: %s is half written", at, name)
			}
			next := crownlog(t, nil, "job", "note", dir, "the next run")
			require.Zero(t, next.code, "%s: %s", at, next.err)
			shown := forger{t, dir}.read("captures.csv")
			for _, m := range announced.FindAllStringSubmatch(out.String(), -1) {
				assert.Regexp(t, `(?m)^`+m[1]+`,`, shown, "%s: announced and lost", at)
			}
			sound := crownlog(t, nil, "verify", dir)
			if verb != "mend" { // that says for ever that it was mended
				assert.Zero(t, sound.code, "%s: %s", at, sound.out)
			}
		}
	}
}
