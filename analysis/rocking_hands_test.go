package analysis

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A USB bridge hands on what came in 16 ms at once, so several readings have
// the same time.
func TestReadingsInPackets(t *testing.T) {
	for _, rate := range []float64{100, 250, 300, 500, 1000} {
		for seed := range uint64(8) {
			c := handTrace(seed, 0.001, 0.001)
			c.Rate, c.Packet, c.Spring, c.Rocks = rate, 0.016, 0.0005, 5
			b := MeasureBacklash(c.make(), RockingOptions{})
			require.False(t, b.Refused, "%v at %v Hz, seed %d", b.Faults, rate, seed)
			assert.InDelta(t, c.Backlash, b.Value, 0.006)
			assert.GreaterOrEqual(t, b.Rocks, 4)
		}
	}
}
