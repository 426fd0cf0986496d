package device

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"crownlog/device/frame"
)

// A display that filters is behind: a reading counts from when it was so.
func TestReadingsOfAGaugeThatLags(t *testing.T) {
	out := make(chan Event, 1)
	g := NewGauge("dial", Profile{Lag: 0.25}, nil, time.Now)
	g.out = out
	at := time.Date(2000, 1, 1, 0, 0, 1, 0, time.UTC)
	g.voices[0].emit(&pending{Frame: frame.Frame{At: at}})
	assert.Equal(t, at.Add(-250*time.Millisecond), (<-out).Reading.Time)
}
