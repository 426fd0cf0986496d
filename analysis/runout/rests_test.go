package runout

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// TestRunoutTurnBetweenRests: the wheel stands before and after the turning,
// as it does while hands reach for it; the stand is no part of the turn.
// Invented traces of two and a half turns of 26 s.
func TestRunoutTurnBetweenRests(t *testing.T) {
	for _, rest := range [][2]float64{{0, 0}, {5, 10}, {0, 4}, {10, 120}} {
		for _, phase := range []float64{0, 77, 141} {
			t.Run(fmt.Sprintf("%g s before, %g s after, high spot at %g", rest[0], rest[1], phase), func(t *testing.T) {
				rnd := rand.New(rand.NewPCG(7, uint64(phase)))
				var s []analysis.Sample
				for i := range int(10 * (rest[0] + 65 + rest[1])) {
					at := float64(i) / 10
					turned := 2 * math.Pi * math.Min(math.Max(at-rest[0], 0), 65) / 26
					x := 0.030*math.Cos(turned-phase*math.Pi/180) + 0.006*math.Cos(2*turned)
					s = append(s, analysis.Sample{T: at, X: math.Round(1000*(x+0.0005*rnd.NormFloat64())) / 1000})
				}
				r := MeasureTurn(s, Options{})
				require.False(t, r.Refused, r.Notes)
				assert.InDelta(t, 26, turnSeconds(r), 0.1)
				require.NotNil(t, r.H1)
				require.NotNil(t, r.H2)
				assert.InDelta(t, 0.030, r.H1.Amplitude, 0.0005)
				assert.InDelta(t, 0.006, r.H2.Amplitude, 0.0005)
				assert.Empty(t, r.Faults)
			})
		}
	}
}
