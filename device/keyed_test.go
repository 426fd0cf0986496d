package device

import (
	"context"
	"io"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestKeyedValues(t *testing.T) {
	tests := []struct {
		in   string
		want float64
		unit string
		bad  string
	}{
		{in: "0.18", want: 0.18, unit: "mm"},
		{in: "0,18", want: 0.18, unit: "mm"},
		{in: "0.18 mm", want: 0.18, unit: "mm"},
		{in: " -0.02mm ", want: -0.02, unit: "mm"},
		{in: "- 0.02", want: -0.02, unit: "mm"},
		{in: ".007in", want: 0.007, unit: "in"},
		{in: "7 thou", want: 0.007, unit: "in"},
		{in: "7.5thou", want: 0.0075, unit: "in"},
		{in: "95 N·m", want: 95, unit: "N·m"},
		{in: "70 lbf.ft", want: 70, unit: "lbf·ft"},
		{in: "18 div", want: 0.18, unit: "mm"},
		{in: "3 1/2 div", want: 0.035, unit: "mm"},
		{in: "-3 1/2 div", want: -0.035, unit: "mm"},
		{in: "1/2 div", want: 0.005, unit: "mm"},
		{in: "1 1/64 in", want: 1.015625, unit: "in"},
		{in: "12", want: 12, unit: "mm"},
		// 34 to 39 N at about 65 mm is given as 2.2 to 2.5 N·m (handbook).
		{in: "40 N x 50 mm", want: 2, unit: "N·m"},
		{in: "40N*50mm", want: 2, unit: "N·m"},
		{in: "34 N × 6,5 cm", want: 2.21, unit: "N·m"},
		{in: "9.5 lbf x 2 in", want: 19, unit: "lbf·in"},
		{in: "4 kgf x 50 mm", want: 20, unit: "kgf·cm"},

		{in: "40 N x 0 mm", bad: `unit "N x 0 mm" is not known, and want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "40 N x 0 mm"`},
		{in: "40 N x 2 in", bad: `unit "N x 2 in" is not known, and want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "40 N x 2 in"`},
		{in: "soft", bad: `want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "soft"`},
		{in: "0.18 furlong", bad: `unit "furlong" is not known, and want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "0.18 furlong"`},
		{in: "0.1 0.2", bad: `unit "0.2" is not known, and want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "0.1 0.2"`},
		{in: "3 3/2 div", bad: `want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "3 3/2 div"`},
		{in: "1/0 div", bad: `want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "1/0 div"`},
		{in: "3 2e999", bad: `want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "3 2e999"`},
		{in: "3 4", bad: `want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "3 4"`},
		{in: "NaN", bad: `want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div: "NaN"`},
	}
	for _, tt := range tests {
		t.Run(tt.in, func(t *testing.T) {
			events := runKeyed(t, strings.NewReader(tt.in+"\n"), 0.01)
			require.Len(t, events, 2)
			assert.Equal(t, EventEnd, events[1].Kind)
			if tt.bad != "" {
				assert.Equal(t, EventGarbled, events[0].Kind)
				assert.Equal(t, tt.bad, events[0].Text)
				return
			}
			require.Equal(t, EventReading, events[0].Kind, events[0].Text)
			assert.InDelta(t, tt.want, events[0].Reading.Value, 1e-15)
			assert.Equal(t, tt.unit, events[0].Reading.Unit)
			assert.Equal(t, tt.in, events[0].Reading.Raw)
			assert.Equal(t, "eye", events[0].Reading.Gauge)
		})
	}
}

// runKeyed returns the events of the whole input.
func runKeyed(t *testing.T, r io.Reader, division float64) []Event {
	t.Helper()
	k := NewKeyed("eye", "mm", r, time.Now)
	k.SetDivision(division)
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
	events := runKeyed(t, strings.NewReader("0.1\r0.2\r\n\n  \n0.3"), 0)
	require.Len(t, events, 4, "blank lines are nothing, the last needs no end")
	assert.Equal(t, 0.3, events[2].Reading.Value)
	events = runKeyed(t, strings.NewReader("3 div\n"+strings.Repeat("9", 5000)+"\n0.1\n"), 0)
	require.Len(t, events, 4)
	assert.Equal(t, `the size of a division is not known: "3 div"`, events[0].Text)
	assert.Equal(t, EventGarbled, events[1].Kind)
	assert.Equal(t, 0.1, events[2].Reading.Value)
}

func TestKeyedStopsWithItsContext(t *testing.T) {
	r, w := io.Pipe()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	out := make(chan Event, 1)
	go func() { done <- NewKeyed("eye", "mm", r, time.Now).Run(ctx, out) }()
	_, err := w.Write([]byte("0.1\n"))
	require.NoError(t, err)
	assert.Equal(t, 0.1, (<-out).Reading.Value)
	cancel()
	assert.NoError(t, <-done)
	require.NoError(t, w.Close())
}
