package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// TestAssessAgreesWithTheRound: what the record says of a feature is what
// the screen said when it was measured.
func TestAssessAgreesWithTheRound(t *testing.T) {
	s := sheet.Example()
	values := map[string]func(i int) float64{
		record.FeatureBacklash:       func(i int) float64 { return 0.16 + 0.002*float64(i%4) },
		record.FeatureRunoutBackFace: func(i int) float64 { return runoutLevel(45 * float64(i)) },
		record.FeatureWheelBolts: func(i int) float64 {
			return 98 * s.Bolts[0].Passes()[i/s.Bolts[0].Count]
		},
		record.FeaturePreloadTotal: steady(2.1),
		record.FeatureLeakDown:     steady(9),
		record.FeatureEngagement:   steady(0.5),
	}
	for name, value := range values {
		t.Run(name, func(t *testing.T) {
			p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: name, Keyed: true})
			for i := 0; !p.Done(); i++ {
				before := feature.Assess(s, p.store.captures, record.StageFinal, name)
				assert.Equal(t, p.View().Round.N, before.Round.N)
				assert.Equal(t, p.View().Verdict, before.Verdict)
				p.key(value(i))
			}
			got, want := feature.Assess(s, p.store.captures, record.StageFinal, name), p.View()
			assert.Equal(t, want.Verdict, got.Verdict)
			assert.Equal(t, want.Reason, got.Reason())
			assert.InDelta(t, want.Round.Mean, got.Round.Mean, 1e-12)
			assert.Equal(t, want.Round.N, got.Round.N)
		})
	}
}

// One reading that stands out is neither left out nor believed: a slip of the pen
// is gone when the position is read again, a bump is there again.
func TestRunoutPositionInDoubt(t *testing.T) {
	readings := []float64{0, 0.004, 0.006, 0.002, 0.001, 0.003, 0.005, 0.150}
	for second, want := range map[float64]gum.Verdict{0.150: gum.Outside, 0.151: gum.Outside, 0.004: gum.Inside, 0.4: gum.NotDecided} {
		p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Keyed: true})
		p.key(readings...)
		require.True(t, p.Done())
		assert.Equal(t, gum.NotDecided, p.View().Verdict)
		assert.Contains(t, p.View().Reason, "measure position 8 again")
		require.NoError(t, p.Command(CmdUndo))
		p.key(second)
		assert.Equal(t, want, p.View().Verdict, "%g read again", second)
		assert.Equal(t, want, feature.Assess(sheet.Example(), p.store.captures, record.StageBench, record.FeatureRunoutBackFace).Verdict)
	}
}

func TestCaptureByKeyOnly(t *testing.T) {
	h := newHandTrace(51)
	p := play(t, &memoryStore{}, RoundConfig{ByKey: true})
	h.rock(0, 0.16, 6)
	p.feed(h.take())
	assert.Empty(t, p.store.captures)
	assert.Equal(t, "Enough rocks: press space.", p.View().Action)
	require.NoError(t, p.Command(CmdCapture))
	require.Len(t, p.store.captures, 1)
	assert.GreaterOrEqual(t, p.store.captures[0].N, 5)
}
