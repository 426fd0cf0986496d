package analysis

import (
	"fmt"
	"math"

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
	AmplitudeU []float64  // standard uncertainty of each amplitude from the scatter; NaN when DoF is 0
	ResidualSD float64    // NaN when DoF is 0: the fit then meets every point
	DoF        int        // points less parameters
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

// FitHarmonics fits a constant and the harmonics of the given orders to values
// at any angles, evenly spaced or not, by least squares. It returns
// ErrNotSeparable when the angles cannot carry them and ErrNotFinite for a
// value or angle that is not a number.
func FitHarmonics(angleDeg, value []float64, orders ...int) (HarmonicFit, error) {
	periods := make([]float64, len(orders))
	for i, k := range orders {
		if k < 1 {
			return HarmonicFit{}, fmt.Errorf("harmonic order %d is less than 1", k)
		}
		periods[i] = 360 / float64(k)
	}
	p, err := stat.FitPeriods(angleDeg, value, periods...)
	if err != nil {
		return HarmonicFit{}, err
	}
	f := HarmonicFit{
		Mean: p.Constant, Orders: append([]int(nil), orders...), AmplitudeU: p.AmplitudeU,
		ResidualSD: p.ResidualSD, DoF: p.DoF, Residuals: p.Residuals,
	}
	for i, k := range orders {
		amplitude := math.Hypot(p.Cos[i], p.Sin[i])
		phase := stat.Wrap(math.Atan2(p.Sin[i], p.Cos[i])*180/math.Pi, 360) / float64(k)
		if phase >= 360/float64(k) { // rounding of a phase just under a turn
			phase = 0
		}
		f.Harmonics = append(f.Harmonics, Harmonic{amplitude, phase})
	}
	return f, nil
}
