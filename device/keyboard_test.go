package device

import (
	"context"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A line that somebody else read from the keys is one reading, sent at a press; one
// that a NUL spoils is told.
func TestReadingsOfACableThatTypesIntoTheProgram(t *testing.T) {
	open, hand := KeyboardPort()
	typed := func(line string) error { _, err := io.WriteString(hand, line); return err }
	ctx, cancel := context.WithCancel(t.Context())
	events, done := make(chan Event, 16), make(chan error, 1)
	p := Profile{Frame: FrameText, Unit: "mm"}.On(ThisKeyboard)
	go func() { done <- NewGauge("dial", p, open, time.Now).Run(ctx, events) }()
	for i, line := range []string{"0.1\n", "-0,2 mm\n"} {
		require.NoError(t, typed(line))
		ev := <-events
		assert.Equal(t, []float64{0.1, -0.2}[i], ev.Reading.Value)
		assert.Equal(t, []string{"press"}, ev.Reading.Flags.Words())
	}
	require.NoError(t, typed("0.3\x00\n"))
	assert.Contains(t, (<-events).Text, "NUL in the line")
	cancel()
	require.NoError(t, <-done)
	assert.Error(t, typed("0.1\n"), "no more")
}
