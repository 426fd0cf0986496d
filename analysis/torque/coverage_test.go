package torque

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// bearing is an invented drag over part of a turn or several: a ripple once and
// twice a turn, each turn a little unlike the one before. It returns the
// median over a turn too.
func bearing(rnd *rand.Rand, turns, display float64) (s []analysis.Sample, median float64) {
	mean := 1 + rnd.Float64()
	once, twice := 0.15*rnd.Float64(), 0.05*rnd.Float64()
	p1, p2 := 2*math.Pi*rnd.Float64(), 2*math.Pi*rnd.Float64()
	const period, rate = 8.0, 25.0
	unlike := 0.0
	for i := range int(turns * period * rate) {
		turn := float64(i) / rate / period
		unlike = 0.96*unlike + 0.28*0.02*rnd.NormFloat64() // 0.02, slowly changing
		x := mean + once*math.Cos(2*math.Pi*turn-p1) + twice*math.Cos(4*math.Pi*turn-p2) + unlike + 0.01*rnd.NormFloat64()
		s = append(s, analysis.Sample{T: float64(i) / rate, X: math.Round(x/display) * display})
	}
	var turn []float64 // what it is is the median, as most of a turn reads
	for deg := range 360 {
		a := float64(deg) * math.Pi / 180
		turn = append(turn, mean+once*math.Cos(a-p1)+twice*math.Cos(2*a-p2))
	}
	return s, stat.Median(turn)
}

// Twice the standard uncertainty covers the median of a turn from part of one turn
// to many; of what was not turned through twice it may cover more.
func TestPreloadCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("slow")
	}
	const runs = 40
	within := map[bool]float64{}
	tried := map[bool]float64{}
	for _, turns := range []float64{0.25, 0.4, 0.55, 0.7, 0.95, 1.6, 2.3, 3.5, 6} {
		for _, display := range []float64{0.01, 0.1} {
			rnd := rand.New(rand.NewSource(2))
			covered := 0.0
			for range runs {
				s, median := bearing(rnd, turns, display)
				p := MeasurePreload(s, PreloadOptions{Resolution: display})
				require.False(t, p.Refused)
				if math.Abs(p.Running-median) <= 2*p.StandardUncertainty {
					covered++
				}
			}
			assert.GreaterOrEqual(t, covered/runs, 0.85, "%g turns, display %g", turns, display)
			if turns < 1 || display < 0.1 { // else a step of the display is most of it: 2/√12 of it cover a half always
				within[turns < 1] += covered
				tried[turns < 1] += runs
			}
		}
	}
	assert.InDelta(t, 0.96, within[true]/tried[true], 0.03, "of a turn nobody saw the rest of")
	assert.InDelta(t, 0.96, within[false]/tried[false], 0.03)
}

// crank is another bearing: a ripple of three harmonics, a film that wanders for
// seconds, and a hand whose pace goes up and down once a turn.
func crank(rnd *rand.Rand, turns float64) (s []analysis.Sample, median float64) {
	const rate, display = 12.0, 0.01
	mean, period, uneven, when := 0.6+2*rnd.Float64(), 3+7*rnd.Float64(), 0.15*rnd.Float64(), 2*math.Pi*rnd.Float64()
	var size, phase [3]float64
	for k := range size {
		size[k], phase[k] = 0.1*mean*rnd.Float64()/float64(1+k*k), 2*math.Pi*rnd.Float64()
	}
	drag := func(turn float64) float64 {
		x := mean
		for k := range size {
			x += size[k] * math.Cos(2*math.Pi*float64(k+1)*turn-phase[k])
		}
		return x
	}
	film, turn := 0.0, 0.0
	for i := range int(turns * period * rate) {
		turn += (1 + uneven*math.Cos(2*math.Pi*turn+when)) / period / rate
		film += -film/rate/5 + 0.01*math.Sqrt(2/rate/5)*rnd.NormFloat64()
		x := drag(turn) + film + 0.02*rnd.NormFloat64()
		s = append(s, analysis.Sample{T: float64(i) / rate, X: math.Round(x/display) * display})
	}
	var once []float64
	for deg := range 360 {
		once = append(once, drag(float64(deg)/360))
	}
	return s, stat.Median(once)
}

// Four turns and more are covered by an uneven hand on a film that wanders too, and of
// two turns and more U is not much wider than it takes; of fewer nothing tells
// a quick hand's turn and a half from part of a slow one's.
func TestPreloadByAnotherHand(t *testing.T) {
	if testing.Short() {
		t.Skip("slow")
	}
	const runs = 40
	within, tried := 0.0, 0.0
	for turns, wider := range map[float64]float64{0.5: 2, 1.6: 3.5, 2.3: 2.5, 4.5: 1.6, 6.5: 1.6} {
		rnd := rand.New(rand.NewSource(3))
		covered, error2, u2 := 0.0, 0.0, 0.0
		for range runs {
			s, median := crank(rnd, turns)
			p := MeasurePreload(s, PreloadOptions{Resolution: 0.01})
			require.False(t, p.Refused)
			tried++
			error2 += stat.Square(p.Running - median)
			u2 += stat.Square(p.StandardUncertainty)
			if math.Abs(p.Running-median) <= 2*p.StandardUncertainty {
				covered++
			}
		}
		t.Logf("%g turns: covered %.3f, U %.1f times the error", turns, covered/runs, math.Sqrt(u2/error2))
		assert.GreaterOrEqual(t, covered/runs, 0.9, "%g turns", turns)
		assert.LessOrEqual(t, math.Sqrt(u2/error2), wider, "%g turns", turns)
		within += covered
	}
	assert.InDelta(t, 0.96, within/tried, 0.035)
}

func TestOneSpikeIsNoBreakaway(t *testing.T) {
	d := dragTrace{running: 1.5, breakaway: 2.1, ripple: 0.05, noise: 0.01, period: 2, seconds: 9, rate: 50, rest: 1}
	s := d.samples(rand.New(rand.NewSource(1)))
	assert.InDelta(t, 2.1, MeasurePreload(s, PreloadOptions{}).Breakaway, 0.06)
	s[20].X = 9
	assert.InDelta(t, 2.1, MeasurePreload(s, PreloadOptions{}).Breakaway, 0.06)
}

// ramps is a wrench's trace through the torques given, one each half second.
func ramps(torques ...float64) (s []analysis.Sample) {
	for i := range torques[1:] {
		for k := range 50 {
			s = append(s, analysis.Sample{T: 0.5*float64(i) + float64(k)/100, X: torques[i] + (torques[i+1]-torques[i])*float64(k)/50})
		}
	}
	return s
}

// A ratchet lets off to zero; a new grip lets off part of it. Neither is a second
// bolt or a second click.
func TestRatchetAndNewGrip(t *testing.T) {
	for name, c := range map[string]struct {
		trace  []float64
		peaks  []float64
		struck bool
	}{
		"ratcheted twice":         {[]float64{0, 50, 0, 0, 75, 0, 0, 98, 0, 0, 0, 0, 0, 0, 0}, []float64{98}, false},
		"short, and left":         {[]float64{0, 50, 0, 0, 0, 0, 0, 0, 0}, []float64{50}, false},
		"short at the end":        {[]float64{0, 50, 0, 0}, []float64{50}, false},
		"short, then another":     {[]float64{0, 50, 0, 0, 0, 0, 0, 0, 98, 0, 0}, []float64{50, 98}, false},
		"two bolts":               {[]float64{0, 98, 0, 0, 97, 0, 0}, []float64{98, 97}, false},
		"a new grip":              {[]float64{0, 60, 35, 98, 0, 0}, []float64{98}, false},
		"two short grips":         {[]float64{0, 60, 35, 62, 0, 0, 0, 0, 0, 0}, []float64{62}, false},
		"a second click":          {[]float64{0, 98, 60, 97, 0, 0}, []float64{98}, true},
		"a new grip, then both":   {[]float64{0, 60, 35, 98, 60, 97, 0, 0}, []float64{98}, true},
		"the other way is no use": {[]float64{0, 50, 0, -50, 0, 0, 0, 0, 0, 0}, []float64{50, 50}, false},
	} {
		r := measured(ramps(c.trace...), Options{Target: 98})
		var peaks []float64
		for _, p := range r.Peaks {
			peaks = append(peaks, math.Round(p.Value))
			assert.Equal(t, c.struck, p.DoubleStrike, name)
		}
		assert.Equal(t, c.peaks, peaks, name)
	}
	whole := measured(ramps(0, 50, 0, 0, 98, 0, 0), Options{Target: 98}).Peaks[0]
	assert.Less(t, whole.Start, 0.5, "from the first stroke")
	assert.InDelta(t, 2, whole.Time, 0.05)
}
