package torque

import (
	"fmt"
	"math"
	"math/rand"
	"testing"

	"crownlog/analysis"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// A strike is one invented pull on a bolt.
type strike struct {
	peak   float64
	dip    float64 // share of the peak left after the click; 0: let go at once
	second float64 // second pull within the bolt; 0: none
	hold   float64 // seconds the peak is held
}

// pullTrace makes an invented wrench trace and returns the true peaks.
func pullTrace(rnd *rand.Rand, rate, noise float64, strikes []strike) ([]analysis.Sample, []float64) {
	var s []analysis.Sample
	t := 0.0
	line := func(from, to, seconds float64) {
		n := max(1, int(math.Round(seconds*rate)))
		for i := range n {
			x := from + (to-from)*float64(i+1)/float64(n)
			s = append(s, analysis.Sample{T: t, X: x + noise*rnd.NormFloat64()})
			t += 1 / rate
		}
	}
	var truth []float64
	line(0, 0, 1)
	for _, k := range strikes {
		line(0, 0.8*k.peak, 0.4+0.4*rnd.Float64())
		line(0.8*k.peak, k.peak, 0.6+rnd.Float64())
		top := k.peak
		if k.hold > 0 {
			line(k.peak, k.peak, k.hold)
		}
		level := k.peak
		if k.dip > 0 {
			level = k.dip * k.peak
			line(k.peak, level, 0.03)
			line(level, level*1.05, 0.15)
			level *= 1.05
		}
		if k.second > 0 {
			line(level, 0.5*k.peak, 0.2)
			line(0.5*k.peak, k.second, 0.5)
			level = k.second
			top = math.Max(top, k.second)
		}
		line(level, 0, 0.15)
		line(0, 0, 1+2*rnd.Float64())
		truth = append(truth, top)
	}
	return s, truth
}

func TestTorquePulls(t *testing.T) {
	strikes := []strike{
		{peak: 97.8}, {peak: 99.1, dip: 0.75}, {peak: 98.2, dip: 0.7, second: 101.5}, {peak: 96.9, hold: 0.5},
		{peak: 100.4, dip: 0.8, second: 99}, {peak: 97.5, dip: 0.9}, {peak: 98.8}, {peak: 99.6, hold: 0.2, dip: 0.8},
	}
	for _, rate := range []float64{10, 20, 50, 100, 250, 1000} {
		for _, noise := range []float64{0, 0.1, 0.5} {
			for name, o := range map[string]Options{"auto": {}, "target": {Target: 98}, "threshold": {Threshold: 30}} {
				t.Run(fmt.Sprintf("%g Hz noise %g %s", rate, noise, name), func(t *testing.T) {
					s, truth := pullTrace(rand.New(rand.NewSource(7)), rate, noise, strikes)
					r := Measure(s, o)
					require.False(t, r.Refused)
					require.Len(t, r.Peaks, len(strikes))
					for i, p := range r.Peaks {
						assert.InDelta(t, truth[i], p.Value, 0.15+3*noise, "pull %d", i+1)
						assert.Equal(t, strikes[i].second > 0, p.DoubleStrike, "pull %d", i+1)
						assert.GreaterOrEqual(t, p.Time, p.Start)
						assert.LessOrEqual(t, p.Time, p.End)
					}
				})
			}
		}
	}
}

func TestTorqueOddities(t *testing.T) {
	s, _ := pullTrace(rand.New(rand.NewSource(3)), 1000, 0.2, []strike{{peak: 60}, {peak: 62}})
	t.Run("one wild reading", func(t *testing.T) {
		wild := append([]analysis.Sample(nil), s...)
		wild[500].X, wild[1200].X = 400, -900
		r := Measure(wild, Options{})
		require.Len(t, r.Peaks, 2)
		assert.InDelta(t, 60, r.Peaks[0].Value, 0.6)
		assert.InDelta(t, 62, r.Peaks[1].Value, 0.6)
	})
	t.Run("left-hand thread", func(t *testing.T) {
		left := append([]analysis.Sample(nil), s...)
		for i := range left {
			left[i].X = -left[i].X
		}
		r := Measure(left, Options{Target: 60})
		require.Len(t, r.Peaks, 2)
		assert.True(t, r.Peaks[0].LeftHand)
		assert.InDelta(t, 60, r.Peaks[0].Value, 0.6)
	})
	t.Run("pulled straight through the click", func(t *testing.T) {
		var through []analysis.Sample
		for i := range 3000 {
			x, at := 0.0, float64(i)/1000
			switch {
			case at < 1:
				x = 100 * at
			case at < 1.03:
				x = 100 - 15*(at-1)/0.03
			case at < 1.1:
				x = 85 + 15*(at-1.03)/0.07
			case at < 1.6:
				x = 100 + 8*(at-1.1)/0.5
			case at < 1.8:
				x = 108 * (1 - (at-1.6)/0.2)
			}
			through = append(through, analysis.Sample{T: at, X: x})
		}
		r := Measure(through, Options{Target: 100})
		require.Len(t, r.Peaks, 1)
		assert.InDelta(t, 108, r.Peaks[0].Value, 0.5, "overshoot counts")
		assert.False(t, r.Peaks[0].DoubleStrike)
	})
	t.Run("readings missing at the peak", func(t *testing.T) {
		cut := append(append([]analysis.Sample(nil), s[:1900]...), s[2900:]...)
		assert.Equal(t, []analysis.Fault{analysis.Gaps}, Measure(cut, Options{Threshold: 20}).Faults)
	})
	t.Run("ends while pulling", func(t *testing.T) {
		r := Measure(s[:1900], Options{Threshold: 20})
		require.Len(t, r.Peaks, 1)
		assert.True(t, r.Peaks[0].Unfinished)
	})
	t.Run("nothing", func(t *testing.T) {
		for _, none := range [][]analysis.Sample{nil, {{T: 0, X: 0}}, {{T: 0, X: math.NaN()}, {T: 1, X: math.Inf(1)}}, {{T: 0, X: 3}, {T: 1, X: 2}}} {
			r := Measure(none, Options{Threshold: 10})
			assert.True(t, r.Refused)
			assert.Equal(t, []analysis.Fault{analysis.NoPull}, r.Faults)
			assert.Empty(t, r.Peaks)
		}
		assert.True(t, Measure(nil, Options{}).Refused)
	})
	t.Run("peak hold", func(t *testing.T) {
		var hold []analysis.Sample
		for i := range 100 {
			x := math.Min(float64(i), 75)
			if i > 90 {
				x = 0
			}
			hold = append(hold, analysis.Sample{T: float64(i) / 10, X: x})
		}
		r := Measure(hold, Options{})
		require.Len(t, r.Peaks, 1)
		assert.Equal(t, 75.0, r.Peaks[0].Value)
		assert.False(t, r.Peaks[0].DoubleStrike)
	})
	t.Run("streaming is the same code", func(t *testing.T) {
		want := Measure(s, Options{Threshold: 20}).Peaks
		torque := New(Options{Threshold: 20})
		var got []Pull
		for _, q := range s {
			if p, ok := torque.Add(q); ok {
				got = append(got, p)
			}
		}
		assert.Equal(t, want, got)
	})
}

func TestSequences(t *testing.T) {
	// Source: trade handbooks (common practice) for 8, 10 and 12 bolts.
	assert.Equal(t, []int{1, 5, 3, 7, 2, 6, 4, 8}, Sequence(8))
	assert.Equal(t, []int{1, 6, 3, 8, 5, 10, 2, 7, 4, 9}, Sequence(10))
	assert.Equal(t, []int{1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12}, Sequence(12))
	assert.Equal(t, []int{1, 3, 2, 4}, Sequence(4))
	assert.Nil(t, Sequence(0))
	assert.Nil(t, Sequence(-3))
	for n := 1; n <= 40; n++ {
		seen := map[int]bool{}
		order := Sequence(n)
		for i, b := range order {
			seen[b] = true
			if n%2 == 0 && i%2 == 1 {
				assert.Equal(t, n/2, b-order[i-1], "%d bolts: pairs are opposite", n)
			}
		}
		assert.Len(t, seen, n)
		assert.True(t, seen[1] && seen[n])
	}
}
