package stat

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrNotSeparable is returned when the angles measured cannot tell the wanted
// harmonics apart: too few of them, or all at places where one harmonic looks
// like another. Four points at 90°, for one, cannot show the second harmonic.
var ErrNotSeparable = errors.New("the angles cannot tell these harmonics apart")

// A PeriodFit is a constant and some sines of known period, in the form
// Constant + Σ Cos[i]·cos(2πx/period[i]) + Sin[i]·sin(2πx/period[i]).
type PeriodFit struct {
	Constant   float64
	Cos, Sin   []float64
	AmplitudeU []float64 // standard uncertainty of each amplitude; NaN when DoF is 0
	RSS        float64   // residual sum of squares
	ResidualSD float64
	DoF        int
	Residuals  []float64
}

// maxCondition is the condition number of the design beyond which harmonics
// count as not separable: scatter would come out magnified as much.
const maxCondition = 1e4

// FitPeriods fits a constant and one sine of each given period, in the unit of
// x, by least squares through a QR decomposition. Errors are those of
// FitHarmonics.
func FitPeriods(x, y []float64, periods ...float64) (PeriodFit, error) {
	if len(x) != len(y) {
		return PeriodFit{}, errors.New("places and values differ in number")
	}
	n, columns := len(x), 1+2*len(periods)
	if n < columns {
		return PeriodFit{}, fmt.Errorf("%w: %d points for %d parameters", ErrNotSeparable, n, columns)
	}
	design := mat.NewDense(n, columns, nil)
	origin := y[0] // large offsets cost no digits
	right := mat.NewVecDense(n, nil)
	for i := range x {
		if !Finite(x[i]) || !Finite(y[i]) {
			return PeriodFit{}, fmt.Errorf("point %d: %w", i+1, ErrNotFinite)
		}
		design.Set(i, 0, 1)
		for j, p := range periods {
			s, c := math.Sincos(2 * math.Pi * x[i] / p)
			design.Set(i, 1+2*j, c)
			design.Set(i, 2+2*j, s)
		}
		right.SetVec(i, y[i]-origin)
	}
	var qr mat.QR
	qr.Factorize(design)
	if c := qr.Cond(); math.IsNaN(c) || c > maxCondition {
		return PeriodFit{}, ErrNotSeparable
	}
	var b mat.VecDense
	if err := qr.SolveVecTo(&b, false, right); err != nil {
		return PeriodFit{}, fmt.Errorf("%w: %v", ErrNotSeparable, err)
	}
	f := PeriodFit{Constant: origin + b.AtVec(0), DoF: n - columns, Residuals: make([]float64, n)}
	for j := range periods {
		f.Cos = append(f.Cos, b.AtVec(1+2*j))
		f.Sin = append(f.Sin, b.AtVec(2+2*j))
	}
	var fitted mat.VecDense
	fitted.MulVec(design, &b)
	for i := range f.Residuals {
		f.Residuals[i] = right.AtVec(i) - fitted.AtVec(i)
		f.RSS += f.Residuals[i] * f.Residuals[i]
	}
	f.ResidualSD = math.NaN()
	if f.DoF > 0 {
		f.ResidualSD = math.Sqrt(f.RSS / float64(f.DoF))
	}
	f.amplitudeU(&qr, columns)
	return f, nil
}

// amplitudeU fills in the amplitudes' uncertainty from the covariance
// s²·(RᵀR)⁻¹ of the coefficients.
func (f *PeriodFit) amplitudeU(qr *mat.QR, columns int) {
	var r mat.Dense
	qr.RTo(&r)
	var inverse, covariance mat.Dense
	if err := inverse.Inverse(r.Slice(0, columns, 0, columns)); err != nil {
		f.AmplitudeU = make([]float64, len(f.Cos))
		for j := range f.AmplitudeU {
			f.AmplitudeU[j] = math.NaN()
		}
		return
	}
	covariance.Mul(&inverse, inverse.T())
	for j := range f.Cos {
		a, b := f.Cos[j], f.Sin[j]
		vaa, vbb, vab := covariance.At(1+2*j, 1+2*j), covariance.At(2+2*j, 2+2*j), covariance.At(1+2*j, 2+2*j)
		variance := (vaa + vbb) / 2
		if h := math.Hypot(a, b); h > 0 {
			a, b = a/h, b/h
			variance = a*a*vaa + b*b*vbb + 2*a*b*vab
		}
		f.AmplitudeU = append(f.AmplitudeU, f.ResidualSD*math.Sqrt(math.Max(variance, 0)))
	}
}
