package torque

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// Whichever one reading of a pull is broken: the peak is the true one, or the pull
// says that it may not be.
func TestBrokenReadingOfAPull(t *testing.T) {
	x := []float64{0, 0, 0, 20, 45, 70, 90, 99, 103.4, 94.8, 60, 20, 0, 0}
	said := 0
	for broken := range x {
		m := New(Options{Target: 100})
		var pulls []Pull
		for i, v := range x {
			if i == broken {
				m.Lost()
				continue
			}
			if p, ok := m.Add(analysis.Sample{T: float64(i) / 10, X: v}); ok {
				pulls = append(pulls, p)
			}
		}
		require.Len(t, pulls, 1, "reading %d", broken)
		if pulls[0].TopLost {
			said++
			continue
		}
		assert.InDelta(t, 103.4, pulls[0].Value, 1e-9, fmt.Sprint("reading ", broken))
	}
	assert.Equal(t, 3, said, "the top one, and either one beside it, which might have been higher")
}

func TestBrokenReadingBetweenPulls(t *testing.T) {
	m := New(Options{Target: 100})
	for i, v := range []float64{0, 0, 100, 0} {
		if p, ok := m.Add(analysis.Sample{T: float64(i) / 10, X: v}); ok {
			assert.False(t, p.TopLost)
		} else if i == 0 {
			m.Lost()
		}
	}
	fast := New(Options{Target: 100})
	for i := range 1000 {
		if i == 500 {
			fast.Lost()
		}
		if p, ok := fast.Add(analysis.Sample{T: float64(i) / 500, X: float64(500-max(i-500, 500-i)) / 5}); ok {
			assert.False(t, p.TopLost, "of five hundred a second one hides nothing")
		}
	}
}
