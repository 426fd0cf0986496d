//go:build unix

package main

import (
	"bytes"
	"io"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"github.com/creack/pty"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A slowLine is a terminal at the other end of a line that carries 1 kB a second.
// It answers when it is asked whether it is well, once it has come to the question.
type slowLine struct {
	said []byte
	left chan struct{} // closed when the dashboard is left
}

// watch takes what the program says, and answers, until it has ended.
func (s *slowLine) watch(terminal io.ReadWriter) {
	piece, answered, here := make([]byte, 50), 0, true
	for range time.Tick(50 * time.Millisecond) {
		n, err := terminal.Read(piece)
		if err != nil {
			return
		}
		s.said = append(s.said, piece[:n]...)
		for ; answered < bytes.Count(s.said, []byte("\x1b[5n")); answered++ {
			_, _ = terminal.Write([]byte("\x1b[0n"))
		}
		if here && bytes.Contains(s.said, []byte("\x1b[?1049l")) {
			here = false
			close(s.left)
		}
	}
}

// Who quits over a slow line has the terminal back soon: what was not sent yet is
// not sent any more.
func TestQuitOverASlowLine(t *testing.T) {
	if testing.Short() {
		t.Skip("waits for a slow line")
	}
	crownlog, err := exec.LookPath("crownlog") // TestMain's
	require.NoError(t, err)
	for name, keys := range map[string][]string{
		"at the first frame": {"q"}, "while it runs": {"", "", "", "q"}, "at another page": {"", "", "", "j", "q"}, "after many pages": {"", "j", "j", "?", "?", "q"},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			cmd := exec.Command(crownlog, "rehearse", "--hands-off", "--dir", filepath.Join(t.TempDir(), "job"))
			cmd.Env = append(cmd.Environ(), "TERM=xterm-256color")
			terminal, err := pty.StartWithSize(cmd, &pty.Winsize{Rows: 24, Cols: 80})
			require.NoError(t, err)
			defer terminal.Close()
			line := slowLine{left: make(chan struct{})}
			go line.watch(terminal)
			time.Sleep(1500 * time.Millisecond)
			for _, key := range keys {
				time.Sleep(time.Second)
				_, err = terminal.WriteString(key)
				require.NoError(t, err)
			}
			quit := time.Now()
			select {
			case <-line.left:
			case <-time.After(30 * time.Second):
			}
			took := time.Since(quit)
			assert.Less(t, took, 2*time.Second)
			_ = cmd.Wait()
		})
	}
}
