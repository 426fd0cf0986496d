//go:build unix

package main

import (
	"io"
	"os/exec"
	"os/signal"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// A screenful is what a program wrote on its terminal.
type screenful struct {
	mu   sync.Mutex
	text strings.Builder
}

func (s *screenful) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.Write(p)
}

func (s *screenful) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.text.String()
}

// Two signals in the same moment, as a service manager sends them or a key that
// is held, still leave the summary, the record and the terminal in order.
func TestSignalsTogetherEndInOrder(t *testing.T) {
	const shown, left = "\x1b[?1049h", "\x1b[?1049l" // xterm: the other screen, and back
	if signal.Ignored(syscall.SIGHUP) {
		t.Skip("hangups are ignored here, as under nohup")
	}
	for name, signals := range map[string][]syscall.Signal{
		"one":             {syscall.SIGINT},
		"two interrupts":  {syscall.SIGINT, syscall.SIGINT},
		"ended and hung":  {syscall.SIGTERM, syscall.SIGHUP, syscall.SIGTERM},
		"hung up twice":   {syscall.SIGHUP, syscall.SIGHUP},
		"interrupt, quit": {syscall.SIGINT, syscall.SIGQUIT},
	} {
		for _, mode := range []string{"screen", "lines"} {
			t.Run(name+" on "+mode, func(t *testing.T) {
				dir := fourPlaces(t)
				args := []string{"measure", dir, "--keyed"}
				if mode == "lines" {
					args = append(args, "--no-screen")
				}
				cmd := exec.Command("crownlog", args...)
				cmd.Env = append(cmd.Environ(), "TERM=xterm-256color")
				terminal, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
				require.NoError(t, err)
				defer terminal.Close()
				var seen screenful
				all := make(chan struct{})
				go func() {
					defer close(all)
					_, _ = io.Copy(&seen, terminal) // ends with an error of its own when the program does
				}()
				waitFor := func(what func() bool) {
					t.Helper()
					require.Eventually(t, what, 20*time.Second, 10*time.Millisecond, "%s", seen.String())
				}
				waitFor(func() bool {
					return strings.Contains(seen.String(), "position 1") || strings.Contains(seen.String(), shown)
				})
				_, err = terminal.WriteString("0.15\r")
				require.NoError(t, err)
				waitFor(func() bool { return len(at(t, dir, record.FeatureBacklash)) == 1 })
				for _, s := range signals {
					require.NoError(t, cmd.Process.Signal(s))
					time.Sleep(time.Millisecond) // sent at once they may arrive as one
				}
				_ = cmd.Wait()
				<-all
				assert.Equal(t, exitOutside, cmd.ProcessState.ExitCode())
				assert.FileExists(t, filepath.Join(dir, "record.csv"))
				end := seen.String()
				if mode == "screen" {
					i := strings.LastIndex(end, left)
					require.Positive(t, i, "the screen is given back: %q", end)
					end = end[i:]
				}
				assert.Contains(t, end, "backlash, as-found: not decided, not finished: 1 of 4 measured")
			})
		}
	}
}
