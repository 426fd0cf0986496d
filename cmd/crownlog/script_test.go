package main

import (
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"math"
	"os"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"
)

// Six tests run at once, not one a processor: they wait for pseudo-terminals,
// the disk and the clock ten times longer than they compute. -parallel N
// overrides it.
const sideBySide = "6"

func TestMain(m *testing.M) {
	if err := flag.Set("test.parallel", sideBySide); err != nil {
		panic(err)
	}
	testscript.Main(m, map[string]func(){"crownlog": main, "crownlog-crash": crashOnScreen})
}

// TestScripts runs testdata/script: what a user types and what comes back.
// $TRACES are the traces with a known answer. Besides the usual commands:
//
//	exits CODE PROGRAM ARG...   the program must end with exactly that code
//	gauge NAME FILE MS          a pseudo-terminal, $NAME, that says a line of FILE every MS ms
//	unplug NAME                 hangs it up
//	rocks FILE LOW:HIGH...      the lines of a dial, one position after the other
//	hand FILE LIGHT FIRM        the lines of a dial in a hand check, by the backlash that either push makes
//	member NAME WANT TOLERANCE  the JSON object on stdout has such a number
//	edit FILE[:LINE] OLD NEW    puts NEW in place of the first OLD, in that line if one is named; \n is an end of line
//	await FILE TEXT             waits until FILE holds TEXT, a minute at most
//
// The condition hangups says that a program here is told of them: under nohup it is not.
func TestScripts(t *testing.T) {
	traces, err := filepath.Abs(filepath.Join(root, "testdata", "traces"))
	require.NoError(t, err)
	testscript.Run(t, testscript.Params{
		Dir:      "testdata/script",
		Deadline: time.Now().Add(3 * time.Minute),
		Setup: func(env *testscript.Env) error {
			env.Setenv("TRACES", traces)
			env.Setenv("XDG_CONFIG_HOME", filepath.Join(env.WorkDir, ".config"))
			env.Setenv("AppData", filepath.Join(env.WorkDir, ".config")) // as Windows calls it
			env.Setenv("NO_COLOR", "1")
			return nil
		},
		Condition: func(cond string) (bool, error) {
			if cond != "hangups" {
				return false, fmt.Errorf("unknown condition %q", cond)
			}
			return !signal.Ignored(syscall.SIGHUP), nil
		},
		Cmds: scriptCommands(map[string]func(*testscript.TestScript, bool, []string){"exits": exits, "await": await, "edit": edit, "member": member, "rocks": rocks, "hand": hand}),
	})
}

// exits runs a program and compares its exit code.
func exits(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: exits CODE PROGRAM ARG...")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	switch {
	case errors.As(err, &exit):
		got = exit.ExitCode()
	case err != nil:
		ts.Fatalf("%v", err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

// rocks writes what a dial says while the wheel is rocked six times at each
// position, resting 17 readings at each stop, and the plunger is lifted in between.
// The last digit wavers so that the digits are not frozen.
func rocks(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: rocks FILE LOW:HIGH...")
	}
	var b strings.Builder
	n := 0
	say := func(v float64) {
		waver := []float64{0, 0.001, 0, -0.001, 0.001, 0, -0.001}[n%7]
		n++
		fmt.Fprintf(&b, "%.3f mm\n", v+waver)
	}
	for _, arg := range args[1:] {
		var low, high float64
		_, err := fmt.Sscanf(arg, "%f:%f", &low, &high)
		ts.Check(err)
		for range 6 {
			for i := range 20 {
				say(low + (high-low)*math.Min(1, float64(i)/3))
			}
			for i := range 20 {
				say(high - (high-low)*math.Min(1, float64(i)/3))
			}
		}
		for range 40 {
			say(high + 6)
		}
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o644))
}

// hand writes what a dial says while its stem is flicked three times, the wheel is
// rocked three times with a light push, then a firm one each, and the plunger is set
// down anew five times; before the last of them it is held up for a while.
func hand(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: hand FILE LIGHT FIRM")
	}
	var swing [2]float64
	for i := range swing {
		v, err := strconv.ParseFloat(args[1+i], 64)
		ts.Check(err)
		swing[i] = v
	}
	var b strings.Builder
	now, n := 0.1, 0
	to := func(v float64, rest int) {
		for i := range 4 + rest {
			waver := []float64{0, 0.001, 0, -0.001, 0.001, 0, -0.001}[n%7]
			n++
			fmt.Fprintf(&b, "%.3f mm\n", now+(v-now)*math.Min(1, float64(i)/4)+waver)
		}
		now = v
	}
	const rest = 45
	to(0.1, rest)
	for range 3 {
		to(0.9, 2)
		to(0.1, rest)
	}
	for range 3 {
		for _, s := range swing {
			to(0.1+s, rest)
			to(0.1, rest)
		}
	}
	for i := range 5 {
		to(5, []int{3, 3, 3, 3, rest}[i])
		to(0.1+0.001*float64(i%2), rest)
		to(0.1+swing[0], rest)
	}
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), []byte(b.String()), 0o644))
}

// member compares a number in the JSON object on stdout; a name such as
// peaks.1.value goes into lists and objects.
func member(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: member NAME WANT TOLERANCE")
	}
	var v any
	ts.Check(json.Unmarshal([]byte(ts.ReadFile("stdout")), &v))
	for _, key := range strings.Split(args[0], ".") {
		switch at := v.(type) {
		case map[string]any:
			v = at[key]
		case []any:
			i, err := strconv.Atoi(key)
			ts.Check(err)
			if i >= len(at) {
				ts.Fatalf("%s: only %d elements", args[0], len(at))
			}
			v = at[i]
		}
	}
	got, ok := v.(float64)
	if !ok {
		ts.Fatalf("%s is %v, not a number", args[0], v)
	}
	want, err := strconv.ParseFloat(args[1], 64)
	ts.Check(err)
	tolerance, err := strconv.ParseFloat(args[2], 64)
	ts.Check(err)
	if math.Abs(got-want) > tolerance {
		ts.Fatalf("%s is %v, want %v within %v", args[0], got, want, tolerance)
	}
}

// await waits until a file that a program in the background writes holds a text.
func await(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: await FILE TEXT")
	}
	path := ts.MkAbs(args[0])
	for deadline := time.Now().Add(time.Minute); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if b, err := os.ReadFile(path); err == nil && strings.Contains(string(b), args[1]) {
			return
		}
	}
	ts.Fatalf("%s never held %q", args[0], args[1])
}

// edit replaces the first such text in a file, or in one line of it.
func edit(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 3 {
		ts.Fatalf("usage: edit FILE[:LINE] OLD NEW")
	}
	old := strings.ReplaceAll(args[1], `\n`, "\n")
	name, number, oneLine := strings.Cut(args[0], ":")
	text, before := ts.ReadFile(name), ""
	if oneLine {
		n, err := strconv.Atoi(number)
		ts.Check(err)
		lines := strings.SplitAfter(text, "\n")
		before, text = strings.Join(lines[:n-1], ""), strings.Join(lines[n-1:], "")
		if at := strings.Index(text, old); at < 0 || at >= len(lines[n-1]) {
			ts.Fatalf("line %d of %s has no %q", n, name, old)
		}
	}
	if !strings.Contains(text, old) {
		ts.Fatalf("%s has no %q", name, old)
	}
	ts.Check(os.WriteFile(ts.MkAbs(name), []byte(before+strings.Replace(text, old, args[2], 1)), 0o644))
}
