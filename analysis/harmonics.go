package analysis

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/floats"

	"crownlog/analysis/internal/stat"
)

// A Harmonic is one sine around the wheel: Amplitude·cos(order·(θ-PhaseDeg)).
type Harmonic struct {
	Amplitude float64 // half of its peak-to-peak, in the unit of the values
	PhaseDeg  float64 // angle of its first high spot: in [0,360) for order 1, [0,180) for order 2
}

// Movement is what an indicator shows of the component over a turn: from its
// lowest to its highest, twice the amplitude.
func (h Harmonic) Movement() float64 { return 2 * h.Amplitude }

// A HarmonicFit is a constant and some harmonics fitted to values around the
// wheel.
type HarmonicFit struct {
	Mean       float64
	Orders     []int
	Harmonics  []Harmonic // one for each of Orders
	ResidualSD float64    // NaN where there are no more points than parameters: the fit then meets every one
	Residuals  []float64  // value less fit, point by point
}

// At returns the fitted value at an angle.
func (f HarmonicFit) At(angleDeg float64) float64 {
	v := f.Mean
	for i, h := range f.Harmonics {
		v += h.Amplitude * math.Cos(float64(f.Orders[i])*(angleDeg-h.PhaseDeg)*math.Pi/180)
	}
	return v
}

// maxCondition is the condition number of the design beyond which harmonics
// count as not separable.
const maxCondition = 1e4

// FitHarmonics fits a constant and the harmonics of the given orders to values
// at as many angles, evenly spaced or not, by least squares. It returns
// ErrNotSeparable when the angles cannot carry them and ErrNotFinite for a
// value or angle that is not a number.
func FitHarmonics(angleDeg, value []float64, orders ...int) (HarmonicFit, error) {
	n, parameters := len(value), 1+2*len(orders)
	if n < parameters {
		return HarmonicFit{}, fmt.Errorf("%w: %d points for %d parameters", stat.ErrNotSeparable, n, parameters)
	}
	for i := range n {
		if !stat.Finite(angleDeg[i]) || !stat.Finite(value[i]) {
			return HarmonicFit{}, fmt.Errorf("point %d: %w", i+1, stat.ErrNotFinite)
		}
	}
	columns := stat.Sinusoids(angleDeg, orders...)
	b, _, rest, ok := stat.Weighted(columns, value, columns[0], maxCondition) // each weighs one
	if !ok {
		return HarmonicFit{}, stat.ErrNotSeparable
	}
	f := HarmonicFit{Mean: b[0], Orders: orders, Residuals: rest}
	for i, order := range orders {
		k, cos, sin := float64(order), b[1+2*i], b[2+2*i]
		phase := stat.Wrap(math.Atan2(sin, cos)*180/math.Pi, 360) / k
		if phase >= 360/k { // rounding of a phase just under a turn
			phase = 0
		}
		f.Harmonics = append(f.Harmonics, Harmonic{math.Hypot(cos, sin), phase})
	}
	f.ResidualSD = math.NaN()
	if n > parameters {
		f.ResidualSD = floats.Norm(rest, 2) / math.Sqrt(float64(n-parameters))
	}
	return f, nil
}

// MinimumForSecond is how many indexed points it takes to tell twice-around
// from the rest. Four cannot, and five to seven leave nothing to check it by.
const MinimumForSecond = 8

// FitTurn fits once around and, from MinimumForSecond places on where they can
// show it, twice around as well. Errors are those of FitHarmonics.
func FitTurn(angleDeg, value []float64, places int) (HarmonicFit, error) {
	if places >= MinimumForSecond {
		if f, err := FitHarmonics(angleDeg, value, 1, 2); err == nil {
			return f, nil
		}
	}
	return FitHarmonics(angleDeg, value, 1)
}
