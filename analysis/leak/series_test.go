package leak

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/floats"

	"crownlog/analysis"
	"crownlog/analysis/internal/check"
	"crownlog/analysis/internal/stat"
)

// Series that are no leaks, whose noise goes together from one value to the next,
// read as one value a second (beaver1: ten). Slopes a minute by least squares and
// standard errors with a first-order autoregressive error.
// Source: R 4.2.2, lm(x ~ t) and arima(x, order = c(1, 0, 0), xreg = t), computed
// from the data sets of its package datasets.
func TestSlopesOfOpenSeries(t *testing.T) {
	rows := check.Rows(t, "series.csv")[1:]
	for i, want := range []struct {
		every, slope, alone, together float64
	}{
		{1, -1.4520666, 0.2421665, 0.6310672},
		{1, 2.2152820, 0.4912787, 0.5343631},
		{10, 0.0147338, 0.0030115, 0.0098559},
	} {
		x := check.Numbers(t, rows[i][1:])
		var s []analysis.Sample
		for k, v := range x {
			s = append(s, analysis.Sample{T: want.every * float64(k), X: v})
		}
		columns := append(stat.Sinusoids(x), analysis.Times(s))
		b, us, rest, ok := stat.Weighted(columns, x, columns[0], math.Inf(1))
		require.True(t, ok)
		sd := floats.Norm(rest, 2) / math.Sqrt(float64(len(x)-2))
		assert.InDelta(t, want.slope, 60*b[1], 1e-6, rows[i][0])
		assert.InDelta(t, want.alone, 60*sd*us[1], 1e-6, rows[i][0])
		u := 60 * slopeU(analysis.Times(s), rest, 0, true)
		assert.InDelta(t, want.slope, 60*robustSlope(s), 1e-5, "nothing in it is wild: "+rows[i][0])
		// That of the plain line and of 95 % by twice it: 1.03 to 1.59 times that of
		// the best line, where least squares says 0.38, 0.92 and 0.31 of it.
		assert.InDelta(t, 1.3, u/want.together, 0.3, rows[i][0])
	}
}

// The values of Misra1a below its asymptote, as a pressure that falls.
// Source: NIST StRD, nonlinear regression, Misra1a (data from memory; R's nls gives
// the certified 238.94212918, 5.5015643181e-4 and 0.12455138894 from them);
// 238.8416191 and 30.34606946 min by R 4.2.2, nls(p ~ a * exp(-t / tau)).
func TestMisra1aAsAFall(t *testing.T) {
	at := []float64{77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0}
	y := []float64{10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78}
	p := make([]float64, len(y))
	for i := range y {
		p[i] = 238.94212918 - y[i]
	}
	f, ok := exponential(at, p)
	require.True(t, ok)
	assert.InDelta(t, 30.34606946, f.tau/60, 1e-5)
	assert.InDelta(t, 238.8416191, f.start, 1e-5)
}
