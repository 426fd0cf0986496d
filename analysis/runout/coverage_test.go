package runout

import (
	"math"
	"math/rand"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// A shape is an invented face: six harmonics, the higher the smaller, as a turned
// face clamped by its bolts has them. Nothing here comes from the code it tests.
type shape struct{ amplitude, phase [6]float64 }

func anyShape(rnd *rand.Rand) (s shape) {
	tilt := 0.005 + 0.035*rnd.Float64()
	share := [6]float64{1, 0.3, 0.06, 0.04, 0.02, 0.01}
	for k := range s.amplitude {
		s.amplitude[k] = tilt * share[k]
		if k > 0 {
			s.amplitude[k] *= rnd.Float64()
		}
		s.phase[k] = 2 * math.Pi * rnd.Float64()
	}
	return s
}

func (s shape) at(deg float64) float64 {
	v := 0.0
	for k, a := range s.amplitude {
		v += a * math.Cos(float64(k+1)*deg*math.Pi/180-s.phase[k])
	}
	return v
}

// movement is the truth, to a quarter of a degree.
func (s shape) movement() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for d := 0.0; d < 360; d += 0.25 {
		low, high = math.Min(low, s.at(d)), math.Max(high, s.at(d))
	}
	return high - low
}

func shown(v, step float64) float64 { return math.Round(v/step) * step }

// Twice the standard uncertainty covers the movement of the whole face, and not
// that of the places alone. Where fewer than eight places leave a warp unseen it
// may cover more.
func TestMovementCoverage(t *testing.T) {
	const runs = 400
	covered, all := 0.0, 0.0
	for _, places := range []int{4, 6, 8, 12, 16, 24, 36} {
		for _, step := range []float64{0.001, 0.01} {
			for _, noise := range []float64{0.0003, 0.0005, 0.003} {
				rnd := rand.New(rand.NewSource(int64(places)))
				within := 0.0
				for range runs {
					s := anyShape(rnd)
					var p []Point
					for i := range places {
						a := 360 * float64(i) / float64(places)
						p = append(p, Point{a, shown(s.at(a)+0.3+noise*rnd.NormFloat64(), step)})
					}
					if r := Measure(p, Options{Resolution: step}); math.Abs(r.FIM-s.movement()) <= 2*r.FIMU {
						within++
					}
				}
				assert.Greater(t, within/runs, 0.92, "%d places, %g mm display, noise %g mm", places, step, noise)
				if places >= 8 {
					covered, all = covered+within, all+runs
				}
			}
		}
	}
	assert.InDelta(t, 0.96, covered/all, 0.03)
}

// Thirty-six noisy places make no face seem worse than it is.
func TestManyNoisyPlacesAreNotBiased(t *testing.T) {
	rnd := rand.New(rand.NewSource(1))
	bias := 0.0
	for range 300 {
		s := anyShape(rnd)
		var p []Point
		for i := range 36 {
			p = append(p, Point{10 * float64(i), s.at(10*float64(i)) + 0.003*rnd.NormFloat64()})
		}
		bias += (Measure(p, Options{}).FIM - s.movement()) / 300
	}
	assert.InDelta(t, 0, bias, 0.0012, "0.0061 with the readings as they are")
}

// Two steady turns, which show where a turn ends.
func TestTurnMovementCoverage(t *testing.T) {
	if testing.Short() {
		t.Skip("slow")
	}
	const runs = 40
	covered, all := 0.0, 0.0
	for _, step := range []float64{0.001, 0.01} {
		for _, noise := range []float64{0.0003, 0.003} {
			rnd := rand.New(rand.NewSource(4))
			for range runs {
				s := anyShape(rnd)
				var p []analysis.Sample
				for i := range 600 {
					at := float64(i) / 10
					p = append(p, analysis.Sample{T: at, X: shown(s.at(12*at)+0.3+noise*rnd.NormFloat64(), step)})
				}
				r := MeasureTurn(p, Options{Resolution: step})
				if r.Refused {
					continue
				}
				if all++; math.Abs(r.FIM-s.movement()) <= 2*r.FIMU {
					covered++
				}
			}
		}
	}
	assert.Greater(t, all, 3.9*runs)
	assert.InDelta(t, 0.96, covered/all, 0.03)
}
