//go:build unix

package device

import (
	"bytes"
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestIdentifyOnATerminal(t *testing.T) {
	p := newPeer(t)
	p.play([][]byte{streams[10].bytes()})
	var said []string
	found, err := Identify(context.Background(), p.link, IdentifyOptions{Listen: 200 * time.Millisecond,
		Said: func(text string) { said = append(said, text) }})
	require.NoError(t, err)
	require.NotEmpty(t, found)
	assert.Equal(t, "mm", found[0].Profile.Unit)
	assert.Equal(t, []string{"listening at 9600 baud"}, said)
	var file bytes.Buffer
	require.NoError(t, found[0].Profile.WriteTOML(&file))
	assert.Equal(t, `name = 'heard-text'
title = 'text lines, found by listening'
quantity = 'length'
unit = 'mm'
resolution = 0.001
frame = 'text'

[serial]
baud = 9600

[text]
line_end = 'crlf'
`, file.String())
}

// At four lines a second the usual time is too short.
func TestIdentifyWaitsForASlowGauge(t *testing.T) {
	p := newPeer(t)
	stop := make(chan struct{})
	done := make(chan struct{})
	go func() {
		defer close(done)
		for i := 0; ; i++ {
			select {
			case <-stop:
				return
			case <-time.After(25 * time.Millisecond):
				p.master.Write(streams[10].make(i, swing(60)[i%60]))
			}
		}
	}()
	found, err := Identify(context.Background(), p.link, IdentifyOptions{Listen: 120 * time.Millisecond, Bauds: []int{9600}})
	close(stop)
	<-done
	require.NoError(t, err)
	require.NotEmpty(t, found)
	assert.Equal(t, "mm", found[0].Profile.Unit)
	assert.Less(t, found[0].Rate, 60.0, "readings a second of a gauge that sends 40")
	assert.Greater(t, found[0].Rate, 4.0)
}

func TestIdentifyEndsWithItsContext(t *testing.T) {
	p := newPeer(t)
	ctx, cancel := context.WithTimeout(context.Background(), 50*time.Millisecond)
	defer cancel()
	_, err := Identify(ctx, p.link, IdentifyOptions{Listen: time.Minute})
	assert.ErrorIs(t, err, context.DeadlineExceeded)
}
