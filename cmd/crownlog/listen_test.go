package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/cmd/crownlog/live"
	"crownlog/device"
)

// A timed source says its events at their times from the start.
type timed []device.Event

func (s timed) Run(ctx context.Context, out chan<- device.Event) error {
	start := time.Now()
	for _, ev := range s {
		select {
		case <-time.After(time.Until(start.Add(ev.Time.Sub(time.Time{})))):
			out <- ev
		case <-ctx.Done():
			return nil
		}
	}
	<-ctx.Done()
	return nil
}

func lossAt(gauge string, d time.Duration, kind device.EventKind) device.Event {
	return device.Event{Kind: kind, Gauge: gauge, Time: time.Time{}.Add(d), Text: "cable of " + gauge}
}

func TestListenGivesUpEachGaugeInItsOwnTime(t *testing.T) {
	const s = time.Second
	flapping := timed{}
	for d := s; d < 20*s; d += 2 * s {
		flapping = append(flapping, lossAt("b", d, device.EventLost), lossAt("b", d+s, device.EventBack))
	}
	tests := []struct {
		name    string
		sources []live.Source
		wait    time.Duration
		after   time.Duration // 0: never
	}{
		{"one gone, the other comes and goes", []live.Source{timed{lossAt("a", s, device.EventLost)}, flapping}, 5 * s, 6 * s},
		{"told again why it is away", []live.Source{timed{lossAt("a", s, device.EventLost), lossAt("a", 4*s, device.EventLost)}}, 5 * s, 6 * s},
		{"back in time", []live.Source{timed{lossAt("a", s, device.EventLost), lossAt("a", 4*s, device.EventBack)}}, 5 * s, 0},
		{"for ever", []live.Source{timed{lossAt("a", s, device.EventLost)}}, 0, 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			synctest.Test(t, func(t *testing.T) {
				ctx, cancel := context.WithTimeoutCause(t.Context(), time.Hour, context.Canceled)
				defer cancel()
				ctx, end := context.WithCancelCause(ctx)
				g := live.Start(ctx, tt.sources...)
				defer g.Stop()
				start := time.Now()
				err := (&listenCmd{Wait: tt.wait}).listen(ctx, end, &console{out: io.Discard, err: io.Discard}, g)
				if tt.after == 0 {
					assert.ErrorIs(t, err, context.Canceled)
					assert.Equal(t, time.Hour, time.Since(start))
					return
				}
				assert.EqualError(t, err, `"a" went away and did not come back: cable of a`)
				assert.Equal(t, exitDevice, exitCode(err))
				assert.Equal(t, tt.after, time.Since(start))
			})
		})
	}
}

// cutShort is a source that says two things and then fails.
type cutShort struct{}

func (cutShort) Run(_ context.Context, out chan<- device.Event) error {
	for _, v := range []float64{0.15, 0.16} {
		out <- device.Event{Kind: device.EventReading, Gauge: "dial", Reading: device.Reading{Gauge: "dial", Value: v, Unit: "mm"}}
	}
	return errors.New("gone")
}

func TestListenPrintsWhatWasHeardBeforeAFailure(t *testing.T) {
	for range 20 {
		synctest.Test(t, func(t *testing.T) {
			var heard bytes.Buffer
			g := live.Start(t.Context(), cutShort{})
			defer g.Stop()
			synctest.Wait()
			assert.EqualError(t, (&listenCmd{}).listen(t.Context(), nil, &console{out: &heard}, g), "gone")
			assert.Equal(t, "0.15 mm\n0.16 mm\n", heard.String())
		})
	}
}

// A port that says one thing.
type sayingPort struct{ device.Port }

func (sayingPort) Read(p []byte) (int, error) { return copy(p, "0.12\r\n"), nil }

func TestRawCaptureOnAFullDisk(t *testing.T) {
	file, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("no /dev/full here")
	}
	ctx, end := context.WithCancelCause(t.Context())
	open := tapped(func(context.Context) (device.Port, string, error) { return sayingPort{}, "port", nil }, file, end)
	port, _, err := open(t.Context())
	require.NoError(t, err)
	_, err = port.Read(make([]byte, 64))
	require.Error(t, err)
	g := live.Start(ctx)
	err = (&listenCmd{}).listen(ctx, end, &console{out: io.Discard}, g)
	assert.ErrorContains(t, err, "raw capture: write /dev/full: ")
	assert.Equal(t, exitRecord, exitCode(err))
}

func TestRawCaptureLeavesNoEmptyFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kept.bin")
	raw, err := os.Create(path)
	require.NoError(t, err)
	require.NoError(t, closeRaw(raw))
	assert.NoFileExists(t, path)
	raw, err = os.Create(path)
	require.NoError(t, err)
	_, err = raw.Write([]byte("0.12\r\n"))
	require.NoError(t, err)
	require.NoError(t, closeRaw(raw))
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "0.12\r\n", string(kept))
}
