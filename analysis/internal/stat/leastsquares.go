package stat

import (
	"errors"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// ErrNotSeparable is returned when the angles measured cannot tell the wanted
// harmonics apart: too few of them, or all at places where one harmonic looks
// like another. Four points at 90°, for one, cannot show the second harmonic.
var ErrNotSeparable = errors.New("the angles cannot tell these harmonics apart")

// Sinusoids returns the columns of a fit of harmonics at these angles: ones,
// then the cosine and the sine of each order.
func Sinusoids(angleDeg []float64, orders ...int) [][]float64 {
	columns := make([][]float64, 1+2*len(orders))
	for j := range columns {
		columns[j] = make([]float64, len(angleDeg))
	}
	for i, a := range angleDeg {
		columns[0][i] = 1
		for j, k := range orders {
			columns[2+2*j][i], columns[1+2*j][i] = math.Sincos(float64(k) * a * math.Pi / 180)
		}
	}
	return columns
}

// Weighted solves weighted least squares through a QR decomposition and returns
// the coefficients, their standard uncertainties for unit scatter, and the
// residuals of all rows. The first column is the constant: a large offset of y
// costs it no digits. ok is false for fewer rows than columns, and where the
// condition number is above worst: scatter comes out magnified by as much.
func Weighted(columns [][]float64, y, weights []float64, worst float64) (b, u, rest []float64, ok bool) {
	n, m := len(y), len(columns)
	if n < m {
		return nil, nil, nil, false
	}
	a, right := mat.NewDense(n, m, nil), mat.NewVecDense(n, nil)
	for i := range n {
		w := math.Sqrt(weights[i])
		for j := range m {
			a.Set(i, j, w*columns[j][i])
		}
		right.SetVec(i, w*(y[i]-y[0]))
	}
	var qr mat.QR
	var solution mat.VecDense
	var r, inverse mat.Dense
	qr.Factorize(a)
	qr.RTo(&r)
	if !(qr.Cond() <= worst) || qr.SolveVecTo(&solution, false, right) != nil || inverse.Inverse(r.Slice(0, m, 0, m)) != nil {
		return nil, nil, nil, false
	}
	b, u, rest = solution.RawVector().Data, make([]float64, m), make([]float64, n)
	for j := range m {
		for k := j; k < m; k++ {
			u[j] = math.Hypot(u[j], inverse.At(j, k))
		}
	}
	for i := range n {
		rest[i] = y[i] - y[0]
		for j := range m {
			rest[i] -= b[j] * columns[j][i]
		}
	}
	b[0] += y[0]
	return b, u, rest, true
}

// ResidualScale is the scatter of the residuals of a robust fit: the median of
// their magnitudes, the ones that the fit's parameters make vanish left out.
func ResidualScale(rest []float64, parameters int) float64 {
	m := Magnitudes(rest)
	slices.Sort(m)
	return NormalMAD * SortedQuantile(m[min(parameters-1, len(m)-1):], 0.5)
}

// MedianMagnitude returns the median of |x|.
func MedianMagnitude(x []float64) float64 { return Median(Magnitudes(x)) }

// Magnitudes returns |x| one by one.
func Magnitudes(x []float64) []float64 {
	m := make([]float64, len(x))
	for i, v := range x {
		m[i] = math.Abs(v)
	}
	return m
}
