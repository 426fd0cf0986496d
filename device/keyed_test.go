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
		{in: "60 ft lbs", want: 60, unit: "lbf·ft"},
		{in: "60 lbs-ft", want: 60, unit: "lbf·ft"},
		{in: "12 lbf in", want: 12, unit: "lbf·in"},
		{in: "12 in lb", want: 12, unit: "lbf·in"},
		{in: "13 kgf cm", want: 13, unit: "kgf·cm"},
		{in: "5 n m", want: 5, unit: "N·m"},
		{in: "2.1 L", want: 2.1, unit: "L"},
		{in: "1900 ml", want: 1900, unit: "ml"},
		{in: "2 qt", want: 2, unit: "qt"},
		{in: "0.2 kPa/min", want: 0.2, unit: "kPa/min"},
		{in: "21 C", want: 21, unit: "°C"},
		{in: "40 N x 50 mm", want: 2, unit: "N·m"},
		{in: "40N*50mm", want: 2, unit: "N·m"},
		{in: "34 N × 6,5 cm", want: 2.21, unit: "N·m"},
		{in: "9.5 lbf x 2 in", want: 19, unit: "lbf·in"},
		{in: "4 kgf x 50 mm", want: 20, unit: "kgf·cm"},

		{in: "40 N x 0 mm", bad: `"40 N x 0 mm": unit "N x 0 mm" is not known`},
		{in: "40 N x 2 in", bad: `"40 N x 2 in": unit "N x 2 in" is not known`},
		{in: "soft", bad: `"soft": not one value`},
		{in: "0.18 furlong", bad: `"0.18 furlong": unit "furlong" is not known`},
		{in: "0.1 0.2", bad: `"0.1 0.2": not one value`},
		{in: "3 3/2 div", bad: `"3 3/2 div": not one value`},
		{in: "1/0 div", bad: `"1/0 div": not one value`},
		{in: "3 2e999", bad: `"3 2e999": not one value`},
		{in: "3 4", bad: `"3 4": not one value`},
		{in: "NaN", bad: `"NaN": not one value`},
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
	assert.Equal(t, `"3 div": the size of a division is not known`, events[0].Text)
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

func TestKeyedLineOfSeveralValues(t *testing.T) {
	k := NewKeyed("eye", "", strings.NewReader("690 688\n"), time.Now)
	k.SetParser(func(line string) ([]KeyedValue, error) {
		assert.Equal(t, "690 688", line)
		return []KeyedValue{{690, "kPa"}, {688, ""}}, nil
	})
	out := make(chan Event, 4)
	require.NoError(t, k.Run(context.Background(), out))
	first, second := (<-out).Reading, (<-out).Reading
	assert.Equal(t, KeyedValue{690, "kPa"}, KeyedValue{first.Value, first.Unit})
	assert.Equal(t, KeyedValue{688, ""}, KeyedValue{second.Value, second.Unit})
	assert.Equal(t, EventEnd, (<-out).Kind)
}
