package logger

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// wheelOf is a backlash round the wheel of eight places, in mm.
func wheelOf(mean, swing float64) []float64 {
	values := make([]float64, 8)
	for i := range values {
		a := 2 * math.Pi * float64(i) / 8
		values[i] = math.Round(1000*(mean+swing*math.Sin(a)+0.3*swing*math.Sin(2*a+1))) / 1000
	}
	return values
}

// TestSlipIsAskedAbout: a place skipped, or measured twice, shows against the round
// before; nothing else does.
func TestSlipIsAskedAbout(t *testing.T) {
	moved := func(from, by int) []float64 {
		was := wheelOf(0.165, 0.028)
		now := wheelOf(0.15, 0.028) // the caps were torqued
		for i := from; i < 8; i++ {
			now[i] = math.Round(1000*(was[(i+by+8)%8]-0.015)) / 1000
		}
		return now
	}
	burr := wheelOf(0.15, 0.028)
	burr[5] += 0.04
	for _, tt := range []struct {
		name   string
		second []float64
		asks   string
	}{
		{"as it was", wheelOf(0.15, 0.028), ""},
		{"begun one place on", moved(0, 1), "Was position 1 skipped?"},
		{"one skipped", moved(3, 1), "Was position 4 skipped?"},
		{"one twice", moved(2, -1), "Was position 2 measured twice?"},
		{"a burr", burr, ""},
		{"another shape", wheelOf(0.15, -0.028), ""},
		{"another wheel", wheelOf(0.15, 0.003), ""},
	} {
		t.Run(tt.name, func(t *testing.T) {
			store := &memoryStore{}
			play(t, store, RoundConfig{Stage: record.StageSetUp, Keyed: true, Resolution: 0.001}).key(wheelOf(0.165, 0.028)...)
			p := play(t, store, RoundConfig{Stage: record.StageCaps, Keyed: true, Resolution: 0.001})
			p.key(tt.second...)
			require.True(t, p.Done())
			v := p.View()
			if tt.asks == "" {
				assert.Empty(t, v.Alert)
				return
			}
			assert.Contains(t, v.Alert, tt.asks)
			for i, c := range store.captures[8:] {
				assert.Equal(t, tt.second[i], c.Value, "nothing is corrected")
			}
			require.NoError(t, p.Command(CmdUndo))
			assert.Empty(t, p.View().Alert)
		})
	}
}

// TestSlipsAreFoundAndWheelsAreNot: of wheels with the same swing and any phases few
// look as if a place had been skipped; of skipped places most are found.
func TestSlipsAreFoundAndWheelsAreNot(t *testing.T) {
	const trials, u = 4000, 0.0045
	r := rand.New(rand.NewPCG(1, 2))
	for _, n := range []int{4, 5, 6, 8, 12} {
		wheel := func() []float64 {
			a, b := 2*math.Pi*r.Float64(), 2*math.Pi*r.Float64()
			x := make([]float64, n)
			for i := range x {
				at := 2 * math.Pi * float64(i) / float64(n)
				x[i] = 0.02*math.Sin(at+a) + 0.008*math.Sin(2*at+b)
			}
			return x
		}
		noisy := func(x []float64, moved, by int) []float64 {
			y := make([]float64, n)
			for i := range x {
				at := i
				if i >= moved {
					at = (i + by + n) % n
				}
				y[i] = x[at] + 0.002*r.NormFloat64()
			}
			return y
		}
		same, other, found := 0, 0, 0
		for range trials {
			x := wheel()
			if _, by := slip(noisy(x, n, 0), noisy(x, n, 0), u); by != 0 {
				same++
			}
			if _, by := slip(noisy(x, n, 0), noisy(wheel(), n, 0), u); by != 0 {
				other++
			}
			if from, by := slip(noisy(x, n, 0), noisy(x, n/3, 1), u); by == 1 && from >= n/3-1 && from <= n/3+1 {
				found++
			}
		}
		t.Logf("%d places: %d of one wheel, %d of two, %d of skipped, of %d", n, same, other, found, trials)
		assert.Zero(t, same)
		assert.Less(t, other, trials*3/100)
		assert.Greater(t, found, trials/10)
	}
}

// TestSlipIsNotAskedAcrossAnotherCentre: there the shape is another's.
func TestSlipIsNotAskedAcrossAnotherCentre(t *testing.T) {
	store := &memoryStore{}
	play(t, store, RoundConfig{Stage: record.StageSetUp, Keyed: true, Resolution: 0.001}).key(wheelOf(0.165, 0.028)...)
	bolt := record.Blank(record.StageBench, record.FeatureWheelBolts, store.captures[7].Time)
	bolt.Position = 1
	_, err := store.Append(bolt)
	require.NoError(t, err)
	p := play(t, store, RoundConfig{Stage: record.StageCaps, Keyed: true, Resolution: 0.001})
	was := wheelOf(0.165, 0.028)
	p.key(append(was[1:], was[0])...)
	assert.Empty(t, p.View().Alert)
}

// TestSlipIsNotAskedOfItself: what a round stored before it was left is none before it.
func TestSlipIsNotAskedOfItself(t *testing.T) {
	store := &memoryStore{}
	play(t, store, RoundConfig{Stage: record.StageSetUp, Keyed: true, Resolution: 0.001}).key(wheelOf(0.165, 0.028)[:5]...)
	p := play(t, store, RoundConfig{Stage: record.StageSetUp, Keyed: true, Resolution: 0.001})
	p.key(wheelOf(0.165, 0.028)[5:]...)
	require.True(t, p.Done())
	assert.Empty(t, p.View().Alert)
}

func TestLeavingAPlaceThatIsNotStoredSaysSo(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Resolution: 0.001})
	h := newHandTrace(3)
	h.hold(0, 0.8)
	h.rock(0, 0.16, 2)
	p.feed(h.take())
	require.Positive(t, p.View().Rocks)
	require.NoError(t, p.Command(CmdNext))
	assert.Contains(t, p.View().Alert, "Position 1 is NOT stored")
	assert.Equal(t, 1, p.View().Current)
}
