package device

import (
	"context"
	"errors"
	"io"
	"os"
	"strconv"
	"strings"
	"testing"
	"testing/iotest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/frame"
)

// oneValue reads one number and its unit; the size of a division is not known.
func oneValue(line string) ([]frame.KeyedValue, error) {
	number, unit, _ := strings.Cut(line, " ")
	v, err := strconv.ParseFloat(number, 64)
	if unit == "div" {
		err = errors.New("the size of a division is not known")
	}
	return []frame.KeyedValue{{Value: v, Unit: unit}}, err
}

// runKeyed returns the events of the whole input.
func runKeyed(t *testing.T, r io.Reader) []Event {
	t.Helper()
	k := NewKeyed("eye", "mm", r, oneValue, time.Now)
	out := make(chan Event, 100)
	require.NoError(t, k.Run(context.Background(), out))
	close(out)
	var list []Event
	for ev := range out {
		list = append(list, ev)
	}
	return list
}

func TestKeyedLines(t *testing.T) {
	one := runKeyed(t, strings.NewReader(" -0.02 \n"))
	require.Len(t, one, 2)
	assert.Equal(t, "eye", one[0].Gauge)
	one[0].Reading.Time = time.Time{}
	assert.Equal(t, Reading{Gauge: "eye", Raw: " -0.02 ", Value: -0.02, Unit: "mm"}, one[0].Reading)
	assert.Equal(t, EventReading, one[0].Kind)
	assert.Equal(t, EventEnd, one[1].Kind)
	events := runKeyed(t, strings.NewReader("0.1\r0.2\r\n\n  \n0.3"))
	require.Len(t, events, 4, "blank lines are nothing, the last needs no end")
	assert.Equal(t, 0.3, events[2].Reading.Value)
	events = runKeyed(t, strings.NewReader("3 div\n"+strings.Repeat("9", 5000)+"\n0.1\n"))
	require.Len(t, events, 4)
	assert.Equal(t, `"3 div": the size of a division is not known`, events[0].Text)
	assert.Equal(t, []EventKind{EventGarbled, EventGarbled, EventReading, EventEnd},
		[]EventKind{events[0].Kind, events[1].Kind, events[2].Kind, events[3].Kind})
	assert.Equal(t, "line too long: \""+strings.Repeat("9", 40)+"\"...", events[1].Text)
	assert.Equal(t, 0.1, events[2].Reading.Value)
}

func TestKeyedInputThatFails(t *testing.T) {
	out := make(chan Event, 2)
	err := NewKeyed("eye", "mm", iotest.ErrReader(os.ErrClosed), oneValue, time.Now).Run(context.Background(), out)
	require.ErrorIs(t, err, os.ErrClosed)
	assert.ErrorContains(t, err, "typed values: ")
}

func TestKeyedStopsWithItsContext(t *testing.T) {
	r, w := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	out := make(chan Event, 1)
	go func() { done <- NewKeyed("eye", "mm", r, oneValue, time.Now).Run(ctx, out) }()
	_, err := w.Write([]byte("0.1\n"))
	require.NoError(t, err)
	assert.Equal(t, 0.1, (<-out).Reading.Value)
	cancel()
	assert.NoError(t, <-done)
	require.NoError(t, w.Close())
}

func TestKeyedLineOfSeveralValues(t *testing.T) {
	k := NewKeyed("eye", "psi", strings.NewReader("690 688\n"), func(line string) ([]frame.KeyedValue, error) {
		assert.Equal(t, "690 688", line)
		return []frame.KeyedValue{{Value: 690, Unit: "kPa"}, {Value: 688}}, nil
	}, time.Now)
	out := make(chan Event, 4)
	require.NoError(t, k.Run(context.Background(), out))
	first, second := (<-out).Reading, (<-out).Reading
	assert.Equal(t, frame.KeyedValue{Value: 690, Unit: "kPa"}, frame.KeyedValue{Value: first.Value, Unit: first.Unit})
	assert.Equal(t, frame.KeyedValue{Value: 688, Unit: "psi"}, frame.KeyedValue{Value: second.Value, Unit: second.Unit})
	assert.Equal(t, EventEnd, (<-out).Kind)
}

func TestKeyedLinesHaveNumbers(t *testing.T) {
	events := runKeyed(t, strings.NewReader("\ufeff0.1\r\n\r\nx\r\n0.2"))
	require.Len(t, events, 4)
	assert.Equal(t, 0.1, events[0].Reading.Value, "a byte order mark is no part of the first value")
	assert.Equal(t, []int{1, 3, 4, 0}, []int{events[0].Line, events[1].Line, events[2].Line, events[3].Line})
}
