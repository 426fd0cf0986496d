//go:build unix

package device

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestOpenPortErrors(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	p := newPeer(t)
	no := -5
	tests := []struct {
		name string
		path string
		s    Serial
		want PortReason
	}{
		{"missing", filepath.Join(dir, "none"), Serial{}, PortMissing},
		{"directory", dir, Serial{}, PortIsDir},
		{"file", file, Serial{}, PortNotSerial},
		{"device that is no terminal", os.DevNull, Serial{}, PortNotSerial},
		{"negative baud", p.link, Serial{Baud: no}, PortBadSetting},
		{"nine data bits", p.link, Serial{DataBits: 9}, PortBadSetting},
		{"unknown parity", p.link, Serial{Parity: "sometimes"}, PortBadSetting},
		{"unknown stop bits", p.link, Serial{StopBits: "3"}, PortBadSetting},
		{"stop bits the system has not", p.link, Serial{StopBits: "1.5"}, PortBadSetting},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			port, err := openAny(tt.path, tt.s)
			assert.Nil(t, port)
			var pe *PortError
			require.True(t, errors.As(err, &pe), "%v", err)
			assert.Equal(t, tt.want, pe.Reason, "%v", err)
			assert.Equal(t, tt.path, pe.Port)
			assert.ErrorIs(t, err, &PortError{Reason: tt.want})
		})
	}
}

// The administrator is not bound by the exclusive mode of a terminal; the
// lock binds everybody.
func TestSecondOpeningIsBusy(t *testing.T) {
	p := newPeer(t)
	first, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	_, err = openAny(p.slave.Name(), Serial{})
	assert.ErrorIs(t, err, &PortError{Reason: PortBusy})
	require.NoError(t, first.Close())
	again, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	require.NoError(t, again.Close())
}

func TestModemLinesAreNotMissedOnATerminalWithout(t *testing.T) {
	p := newPeer(t)
	yes := true
	port, err := openAny(p.link, Serial{DTR: &yes, RTS: &yes})
	require.NoError(t, err)
	require.NoError(t, port.Close())
}

func TestReadTimeoutAndClose(t *testing.T) {
	p := newPeer(t)
	port, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	buf := make([]byte, 8)
	require.NoError(t, port.SetReadTimeout(10*time.Millisecond))
	n, err := port.Read(buf)
	assert.Zero(t, n)
	require.NoError(t, err, "a timeout is no error")
	p.send([]byte("ab"))
	n, err = port.Read(buf)
	require.NoError(t, err)
	assert.Equal(t, "ab", string(buf[:n]))

	require.NoError(t, port.SetReadTimeout(0))
	done := make(chan error, 1)
	go func() {
		_, err := port.Read(buf)
		done <- err
	}()
	require.NoError(t, port.Close())
	require.NoError(t, port.Close(), "twice")
	assert.ErrorIs(t, <-done, &PortError{Reason: PortClosed})
	_, err = port.Write([]byte("x"))
	assert.ErrorIs(t, err, &PortError{Reason: PortClosed})
	_, err = port.Read(buf)
	assert.ErrorIs(t, err, &PortError{Reason: PortClosed})
}

// A descriptor number is used again at once; what is written late must not
// land in the file that got it.
func TestWriteAfterCloseHitsNoOtherFile(t *testing.T) {
	p := newPeer(t)
	port, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	require.NoError(t, port.Close())
	var files []*os.File
	for range 8 {
		f, err := os.CreateTemp(t.TempDir(), "")
		require.NoError(t, err)
		files = append(files, f)
	}
	_, err = port.Write([]byte("stray"))
	assert.Error(t, err)
	for _, f := range files {
		info, err := f.Stat()
		require.NoError(t, err)
		assert.Zero(t, info.Size())
		require.NoError(t, f.Close())
	}
}

// fill writes until the line takes nothing more, and returns the error.
func fill(port Port) <-chan error {
	done := make(chan error, 1)
	go func() {
		for {
			if _, err := port.Write(make([]byte, 65536)); err != nil {
				done <- err
				return
			}
		}
	}()
	return done
}

func TestCloseFreesAHeldUpWrite(t *testing.T) {
	p := newPeer(t)
	port, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	done := fill(port)
	time.Sleep(20 * time.Millisecond) // let it fill the line
	start := time.Now()
	require.NoError(t, port.Close())
	assert.ErrorIs(t, <-done, &PortError{Reason: PortClosed})
	assert.Less(t, time.Since(start), writePatience)
}

func TestWriteGivesUpOnALineThatTakesNothing(t *testing.T) {
	p := newPeer(t)
	port, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	assert.ErrorIs(t, <-fill(port), &PortError{Reason: PortStuck})
	require.NoError(t, port.Close())
	again, err := openAny(p.link, Serial{})
	require.NoError(t, err, "nothing is left that holds the port")
	require.NoError(t, again.Close())
}

// A gauge that does not take its question is told of, and does not keep Run
// from ending.
func TestGaugeThatTakesNoQuestion(t *testing.T) {
	p := newPeer(t)
	prof := Profile{Name: "asked", Mode: ModeAsked, Ask: strings.Repeat("A", 4000), Timeout: Duration(time.Millisecond),
		Interval: Duration(time.Millisecond), Frame: FrameText}
	l := listen(t, prof, PortOpener(p.link, Serial{}))
	l.untilKind(EventLost)
	assert.Contains(t, l.all[len(l.all)-1].Text, string(PortStuck))
	l.untilKind(EventBack)
	start := time.Now()
	l.stop()
	assert.Less(t, time.Since(start), writePatience)
}

func TestPulledCableIsNotOurOwnClosing(t *testing.T) {
	p := newPeer(t)
	port, err := openAny(p.link, Serial{})
	require.NoError(t, err)
	p.unplug()
	_, err = port.Read(make([]byte, 8))
	assert.ErrorIs(t, err, &PortError{Reason: PortGone})
	_, err = port.Write([]byte("?"))
	assert.ErrorIs(t, err, &PortError{Reason: PortGone})
	require.NoError(t, port.Close())
	_, err = openAny(p.link, Serial{})
	assert.ErrorIs(t, err, &PortError{Reason: PortMissing})
	p.plug()
}

func TestFirstOpeningThatFailsEndsTheRun(t *testing.T) {
	g := NewGauge("dial", profile(t, "text"), PortOpener(filepath.Join(t.TempDir(), "none"), Serial{}), time.Now)
	err := g.Run(context.Background(), make(chan Event))
	assert.ErrorIs(t, err, &PortError{Reason: PortMissing})
	bad := NewGauge("dial", Profile{Name: "x", Frame: "morse"}, nil, time.Now)
	assert.Error(t, bad.Run(context.Background(), make(chan Event)))
	mute := NewGauge("dial", Profile{Name: "x", Frame: FrameText, Mode: ModeAsked}, nil, time.Now)
	assert.ErrorContains(t, mute.Run(context.Background(), make(chan Event)), "ask: missing")
}
