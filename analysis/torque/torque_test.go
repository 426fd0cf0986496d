package torque

import (
	"fmt"
	"math"
	"math/rand"
	"runtime"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

// measured is Measure of a trace at hand.
func measured(s []analysis.Sample, o Options) Result { return Measure(slices.Values(s), o) }

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
					r := measured(s, o)
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
		r := measured(wild, Options{})
		require.Len(t, r.Peaks, 2)
		assert.InDelta(t, 60, r.Peaks[0].Value, 0.6)
		assert.InDelta(t, 62, r.Peaks[1].Value, 0.6)
	})
	t.Run("left-hand thread", func(t *testing.T) {
		left := append([]analysis.Sample(nil), s...)
		for i := range left {
			left[i].X = -left[i].X
		}
		r := measured(left, Options{Target: 60})
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
		r := measured(through, Options{Target: 100})
		require.Len(t, r.Peaks, 1)
		assert.InDelta(t, 108, r.Peaks[0].Value, 0.5, "overshoot counts")
		assert.False(t, r.Peaks[0].DoubleStrike)
	})
	t.Run("readings missing at the peak", func(t *testing.T) {
		cut := append(append([]analysis.Sample(nil), s[:1900]...), s[2900:]...)
		assert.Equal(t, []analysis.Fault{analysis.Gaps}, measured(cut, Options{Threshold: 20}).Faults)
	})
	t.Run("ends while pulling", func(t *testing.T) {
		r := measured(s[:1900], Options{Threshold: 20})
		require.Len(t, r.Peaks, 1)
		assert.True(t, r.Peaks[0].Unfinished)
	})
	t.Run("nothing", func(t *testing.T) {
		for _, none := range [][]analysis.Sample{nil, {{T: 0, X: 0}}, {{T: 0, X: math.NaN()}, {T: 1, X: math.Inf(1)}}, {{T: 0, X: 3}, {T: 1, X: 2}}} {
			r := measured(none, Options{Threshold: 10})
			assert.True(t, r.Refused)
			assert.Equal(t, []analysis.Fault{analysis.NoPull}, r.Faults)
			assert.Empty(t, r.Peaks)
		}
		assert.True(t, measured(nil, Options{}).Refused)
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
		r := measured(hold, Options{})
		require.Len(t, r.Peaks, 1)
		assert.Equal(t, 75.0, r.Peaks[0].Value)
		assert.False(t, r.Peaks[0].DoubleStrike)
	})
	t.Run("streaming is the same code", func(t *testing.T) {
		want := measured(s, Options{Threshold: 20}).Peaks
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

func TestThreshold(t *testing.T) {
	inf, nan := math.Inf(1), math.NaN()
	for _, c := range []struct {
		o    Options
		want float64
	}{
		{Options{}, 10}, {Options{Target: 100}, 20}, {Options{Target: -100}, 20}, {Options{Target: 100, Threshold: 0.5}, 0.5},
		{Options{Threshold: -1}, 10}, {Options{Threshold: -1, Target: 0.5}, 0.1}, {Options{Threshold: inf}, 10}, {Options{Target: inf}, 10}, {Options{Threshold: nan, Target: nan}, 10},
	} {
		assert.InDelta(t, c.want, New(c.o).threshold, 1e-12, "%+v", c.o)
	}
}

// at10Hz is a trace of ten readings a second.
func at10Hz(x ...float64) (s []analysis.Sample) {
	for i, v := range x {
		s = append(s, analysis.Sample{T: float64(i) / 10, X: v})
	}
	return s
}

// What a pull is, reading by reading: no filter acts at ten readings a second.
func TestPullByReadings(t *testing.T) {
	o := Options{Threshold: 10}
	for _, c := range []struct {
		name string
		x    []float64
		want []Pull
	}{
		{"one", []float64{0, 5, 20, 30, 20, 5, 0}, []Pull{{Time: 0.3, Value: 30, Start: 0.2, End: 0.5}}},
		{"to the left", []float64{0, -5, -20, -30, -20, -5, 0}, []Pull{{Time: 0.3, Value: 30, Start: 0.2, End: 0.5, LeftHand: true}}},
		{"at the threshold", []float64{0, 10, 10, 10, 0}, nil},
		{"no more than noise", []float64{0, 10.2, 0, 10.2, 0}, nil},
		{"more than noise", []float64{0, 10.6, 0, 0}, []Pull{{Time: 0.1, Value: 10.6, Start: 0.1, End: 0.2}}},
		{"hovering at the threshold", []float64{0, 20, 9.8, 5}, []Pull{{Time: 0.1, Value: 20, Start: 0.1, End: 0.3}}},
		{"two", []float64{0, 20, 0, 25, 0}, []Pull{{Time: 0.1, Value: 20, Start: 0.1, End: 0.2}, {Time: 0.3, Value: 25, Start: 0.3, End: 0.4}}},
		{"two at once", []float64{0, 100, 50, 50, 96, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.5, DoubleStrike: true}}},
		{"a dip of less than a tenth", []float64{0, 100, 91, 91, 91, 91, 100, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.7}}},
		{"shallow and soon back", []float64{0, 100, 80, 96, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.4}}},
		{"shallow and back later", []float64{0, 100, 80, 80, 80, 96, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.6, DoubleStrike: true}}},
		{"deep and soon back", []float64{0, 100, 60, 96, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.4, DoubleStrike: true}}},
		{"never back up", []float64{0, 100, 60, 60, 60, 84, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.6}}},
		{"back by too little", []float64{0, 100, 88, 88, 88, 88, 95, 0}, []Pull{{Time: 0.1, Value: 100, Start: 0.1, End: 0.7}}},
		{"cut off", []float64{0, 20, 30}, []Pull{{Time: 0.2, Value: 30, Start: 0.1, End: 0.2, Unfinished: true}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := measured(at10Hz(c.x...), o)
			assert.Equal(t, append([]Pull{}, c.want...), r.Peaks)
			assert.Equal(t, c.want == nil, r.Refused)
			assert.Equal(t, 10.0, r.Threshold)
		})
	}
	assert.Equal(t, []analysis.Note{analysis.NothingAbove.Of(10)}, measured(at10Hz(0, 9, 0), o).Notes)
	assert.Equal(t, []analysis.Note{analysis.NoTorque.Of()}, measured(at10Hz(0, 0, 0), Options{}).Notes)
	assert.Equal(t, []analysis.Note{analysis.NegativePull.Of(0.1)}, measured(at10Hz(0, -20, 0), o).Notes)
	assert.Equal(t, []analysis.Note{analysis.PullUnfinished.Of()}, measured(at10Hz(0, 20), o).Notes)
	assert.Empty(t, measured(at10Hz(0, 20, 0), o).Notes)
}

func TestPulling(t *testing.T) {
	m := New(Options{Threshold: 10})
	for i, x := range []float64{0, 20, 30, 25} {
		_, ended := m.Add(analysis.Sample{T: float64(i), X: x})
		assert.False(t, ended)
	}
	peak, on := m.Pulling()
	assert.True(t, on)
	assert.Equal(t, 30.0, peak)
	for _, bad := range []analysis.Sample{{T: 2.9, X: 99}, {T: math.NaN(), X: 99}, {T: 4, X: math.Inf(1)}, {T: 4, X: 1e10}} {
		m.Add(bad)
	}
	m.Add(analysis.Sample{T: 3, X: 40}) // in one packet with the one before
	peak, _ = m.Pulling()
	assert.Equal(t, 40.0, peak)
	p, ended := m.Add(analysis.Sample{T: 4, X: 0})
	assert.True(t, ended)
	assert.False(t, p.Gap, "a second is usual here")
	_, on = m.Pulling()
	assert.False(t, on)
}

func TestMissingReadings(t *testing.T) {
	for pause, gap := range map[float64]bool{0.4: false, 1.4: false, 1.6: true, 3: true} {
		var s []analysis.Sample
		for i, x := range []float64{0, 0, 0, 0, 0, 0, 15, 20, 30, 30, 20, 0} {
			at := float64(i) / 10
			if i >= 9 {
				at += pause - 0.1
			}
			s = append(s, analysis.Sample{T: at, X: x})
		}
		r := measured(s, Options{Threshold: 10})
		require.Len(t, r.Peaks, 1)
		assert.Equal(t, gap, r.Peaks[0].Gap, pause)
		assert.Equal(t, gap, len(r.Faults) == 1, pause)
		idle := measured(append(at10Hz(0, 0, 0, 0), analysis.Sample{T: 9, X: 20}, analysis.Sample{T: 9.1, X: 0}), Options{Threshold: 10})
		assert.False(t, idle.Peaks[0].Gap, "before the pull nothing is missed")
	}
}

func TestTamed(t *testing.T) {
	for _, c := range []struct {
		in   [5]float64
		want float64
	}{
		{[5]float64{1, 2, 3, 4, 5}, 3}, {[5]float64{1, 2, 50, 4, 5}, 3}, {[5]float64{1, 2, -50, 4, 5}, 3},
		{[5]float64{1, 2, 15.9, 4, 5}, 15.9}, {[5]float64{1, 2, 16.1, 4, 5}, 3}, {[5]float64{7, 7, 7, 7, 7}, 7},
		{[5]float64{100, 100, 100.09, 100, 100}, 100.09}, {[5]float64{100, 100, 100.2, 100, 100}, 100}, {[5]float64{1, 60, 61, 2, 3}, 61},
	} {
		var s [5]analysis.Sample
		for i, x := range c.in {
			s[i].X = x
		}
		assert.Equal(t, c.want, tamed(s), "%v", c.in)
	}
}

func TestHighest(t *testing.T) {
	slow := at10Hz(0, 0, 0, 90, 0, 0, 0)
	assert.Equal(t, 90.0, highest(slices.Values(slow)), "no telling at ten a second")
	quick := slow
	for i := range quick {
		quick[i].T /= 20
	}
	assert.Zero(t, highest(slices.Values(quick)), "a wild one among quick readings")
	quick[3].X, quick[0].X = 0, -80
	assert.Equal(t, 80.0, highest(slices.Values(quick)), "the first has no neighbours to ask")
	quick[5].X = math.NaN()
	assert.Equal(t, 80.0, highest(slices.Values(quick)))
	assert.Zero(t, highest(slices.Values([]analysis.Sample{})))
}

// A straight line through the last 20 ms takes off noise and no peak.
func TestLevelOfAMoment(t *testing.T) {
	m := New(Options{Threshold: 10})
	assert.Zero(t, len(m.recent))
	for i := range 12 {
		m.remember(analysis.Sample{T: float64(i) / 250, X: 100 + 2*float64(i)})
	}
	assert.Len(t, m.recent, 6)
	assert.InDelta(t, 122, m.level(), 1e-9)
	m.recent[5].X = 116 // lower than the line
	assert.InDelta(t, 116+20.0/7, m.level(), 1e-9)
	m.recent = m.recent[3:]
	assert.Equal(t, 116.0, m.level(), "too few for a line")
	m.recent = m.recent[:0]
	for i := range 100 {
		m.remember(analysis.Sample{T: 1, X: float64(i)})
	}
	assert.Len(t, m.recent, peakCapacity)
	assert.InDelta(t, 75.5, m.level(), 1e-9, "all at one time: their mean")
}

func TestSequences(t *testing.T) {
	// Source: trade handbooks (common practice) for 8, 10 and 12 bolts.
	assert.Equal(t, []int{1, 5, 3, 7, 2, 6, 4, 8}, Sequence(8))
	assert.Equal(t, []int{1, 6, 3, 8, 5, 10, 2, 7, 4, 9}, Sequence(10))
	assert.Equal(t, []int{1, 7, 4, 10, 2, 8, 5, 11, 3, 9, 6, 12}, Sequence(12))
	assert.Equal(t, []int{1, 3, 2, 4}, Sequence(4))
	assert.Equal(t, []int{1, 2}, Sequence(2))
	assert.Equal(t, []int{1, 4, 2, 5, 3, 6}, Sequence(6))
	assert.Equal(t, []int{1}, Sequence(1))
	assert.Equal(t, []int{1, 2, 3}, Sequence(3))
	assert.Equal(t, []int{1, 3, 5, 2, 4}, Sequence(5))
	assert.Equal(t, []int{1, 4, 7, 3, 6, 2, 5}, Sequence(7))
	assert.Equal(t, []int{1, 5, 9, 4, 8, 3, 7, 2, 6}, Sequence(9))
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

// A trace of any length is measured in the memory of a short one.
func TestMeasureKeepsNoReadings(t *testing.T) {
	const rows = 200_000 // 200 s at 1 kHz: a bolt every two seconds
	trace := func(yield func(analysis.Sample) bool) {
		for i := range rows {
			if !yield(analysis.Sample{T: float64(i) / 1000, X: math.Max(0, 98*math.Sin(math.Pi*float64(i%2000)/1000))}) {
				return
			}
		}
	}
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	r := Measure(trace, Options{})
	runtime.GC()
	runtime.ReadMemStats(&after)
	assert.Len(t, r.Peaks, rows/2000)
	assert.InDelta(t, 98*defaultShare, r.Threshold, 0.01)
	grown := int64(after.TotalAlloc-before.TotalAlloc) / rows
	assert.Less(t, grown, int64(1), "bytes a reading")
}
