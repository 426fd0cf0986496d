package main

import (
	"context"
	"testing"
	"time"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/device"

	"github.com/stretchr/testify/assert"
)

// crashing is a source with a mistake in it.
type crashing struct{}

func (crashing) Run(context.Context, chan<- device.Event) error { panic("broken decoder") }

func TestCrashOfAGaugeIsPassedOn(t *testing.T) {
	g := startGauges(t.Context(), crashing{})
	defer g.stop()
	_, err := runRound(t.Context(), roundConfig{round: newKeyedRound(t, &scratch{}), gauges: g})
	var c *crash
	if assert.ErrorAs(t, err, &c) {
		assert.Equal(t, "broken decoder", c.cause)
		assert.Contains(t, c.Error(), "crashing.Run")
	}
}

// crashOnScreen is a program whose dashboard is up when what works beside it
// panics; testdata/script/crash.txtar looks at the terminal it leaves.
func crashOnScreen() {
	err := withScreen(context.Background(), newBoard(), dashboard.Source{}, func(context.Context) error {
		time.Sleep(200 * time.Millisecond) // the screen opens meanwhile
		panic("broken round")
	})
	panic(err.Error())
}
