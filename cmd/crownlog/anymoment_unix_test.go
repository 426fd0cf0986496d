//go:build unix

package main

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/term"

	"crownlog/logger/journal"
)

var signalTrials = flag.Int("trials", 6, "how many runs TestSignalsAtAnyMoment ends by a signal")

// TestSignalsAtAnyMoment ends rehearsals on the dashboard at random moments, by
// one signal or by two, milliseconds apart: the terminal is as it was, the record
// is sound, and the exit code tells.
func TestSignalsAtAnyMoment(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for terminals")
	}
	crownlog, err := exec.LookPath("crownlog") // TestMain's
	require.NoError(t, err)
	signals := []syscall.Signal{syscall.SIGINT, syscall.SIGTERM, syscall.SIGHUP, syscall.SIGQUIT}
	for seed := range uint64(*signalTrials) {
		t.Run(fmt.Sprint(seed), func(t *testing.T) {
			t.Parallel()
			draw := rand.New(rand.NewPCG(seed, 0))
			dir := filepath.Join(t.TempDir(), "job")
			cmd := exec.Command(crownlog, "rehearse", "--pace", "60", "--dir", dir, "--seed", fmt.Sprint(seed))
			cmd.Env = append(cmd.Environ(), "TERM=xterm-256color")
			ran := onTerminal(t, cmd, func() {
				time.Sleep(time.Duration(draw.Float64() * float64(2*time.Second)))
				_ = cmd.Process.Signal(signals[draw.IntN(len(signals))]) // it may have ended by itself
				if draw.IntN(2) == 0 {
					time.Sleep(time.Duration(draw.Float64() * float64(5*time.Millisecond)))
					_ = cmd.Process.Signal(signals[draw.IntN(len(signals))])
				}
			})
			assert.Equal(t, ran.before, ran.after, "the terminal is not as it was")
			assert.Equal(t, strings.Count(ran.said, "\x1b[?1049h"), strings.Count(ran.said, "\x1b[?1049l"), "the dashboard is still up")
			assert.NotZero(t, ran.code, "an interrupted run does not end well")
			snap, err := journal.Read(dir, func(string, []byte) error { return nil })
			if errors.Is(err, journal.ErrNotJobFolder) || errors.Is(err, fs.ErrNotExist) {
				return // ended before the job was made
			}
			require.NoError(t, err)
			assert.Empty(t, snap.Torn)
		})
	}
}

// A terminalRun is what became of a program that ran on a terminal of its own.
type terminalRun struct {
	before, after *term.State
	said          string
	code          int
}

// onTerminal runs cmd on a terminal of 80x24 that it controls, with interfere
// beside it.
func onTerminal(t *testing.T, cmd *exec.Cmd, interfere func()) terminalRun {
	t.Helper()
	master, slave, err := pty.Open()
	require.NoError(t, err)
	defer master.Close()
	require.NoError(t, pty.Setsize(master, &pty.Winsize{Rows: 24, Cols: 80}))
	before, err := term.GetState(int(slave.Fd()))
	require.NoError(t, err)
	cmd.Stdin, cmd.Stdout, cmd.Stderr = slave, slave, slave
	cmd.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	require.NoError(t, cmd.Start())
	var said bytes.Buffer
	var reading sync.WaitGroup
	reading.Go(func() { _, _ = io.Copy(&said, master) })
	interfere()
	var exit *exec.ExitError
	if err := cmd.Wait(); err != nil && !errors.As(err, &exit) {
		require.NoError(t, err)
	}
	after, err := term.GetState(int(slave.Fd()))
	require.NoError(t, err)
	require.NoError(t, slave.Close()) // the last of them: there is no more to read
	reading.Wait()
	return terminalRun{before, after, said.String(), cmd.ProcessState.ExitCode()}
}
