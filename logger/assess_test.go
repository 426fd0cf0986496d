package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestAssessAgreesWithTheRound: what the record says of a feature is what
// the screen said when it was measured.
func TestAssessAgreesWithTheRound(t *testing.T) {
	s := ExampleSheet()
	values := map[string]func(i int) float64{
		FeatureBacklash:       func(i int) float64 { return 0.16 + 0.002*float64(i%4) },
		FeatureRunoutBackFace: func(i int) float64 { return runoutLevel(45 * float64(i)) },
		FeatureWheelBolts: func(i int) float64 {
			return 98 * s.Bolts[0].Passes()[i/s.Bolts[0].Count]
		},
		FeaturePreloadTotal: steady(2.1),
		FeatureLeakDown:     steady(9),
		FeatureEngagement:   steady(0.5),
	}
	for name, value := range values {
		t.Run(name, func(t *testing.T) {
			p := play(t, &memoryStore{}, RoundConfig{Stage: StageFinal, Feature: name, Keyed: true})
			for i := 0; !p.Done(); i++ {
				before := Assess(s, p.store.captures, StageFinal, name)
				assert.Equal(t, p.View().Round.N, before.Round.N)
				assert.Equal(t, p.View().Verdict, before.Verdict)
				p.key(value(i))
			}
			got, want := Assess(s, p.store.captures, StageFinal, name), p.View()
			assert.Equal(t, want.Verdict, got.Verdict)
			assert.Equal(t, want.Reason, got.Reason())
			assert.InDelta(t, want.Round.Mean, got.Round.Mean, 1e-12)
			assert.Equal(t, want.Round.N, got.Round.N)
		})
	}
}

func TestCaptureByKeyOnly(t *testing.T) {
	h := newHandTrace(51)
	p := play(t, &memoryStore{}, RoundConfig{ByKey: true})
	h.rock(0, 0.16, 6)
	p.feed(h.take())
	assert.Empty(t, p.store.captures)
	assert.Equal(t, "Enough rocks: capture.", p.View().Action)
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, p.store.captures, 1)
	assert.GreaterOrEqual(t, p.store.captures[0].N, 5)
}
