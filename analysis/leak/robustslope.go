package leak

import (
	"math"
	"slices"

	regression "gonum.org/v1/gonum/stat"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// fewPoints is how many points it takes to tell a wild one from the rest.
const fewPoints = 8

// robustSlope returns the slope of a trace, in X per second, that wild readings
// hardly move: the median slope of all pairs of points (Theil-Sen) to start
// with, then least squares on the points within four robust deviations of it.
// The median alone sticks at zero where the display shows few different
// values. Sources: Sen 1968; trimmed least squares.
func robustSlope(s []analysis.Sample) float64 {
	t, x := blockMedians(s, leakPoints)
	slope := medianSlope(t, x)
	rest := make([]float64, len(t))
	for range 3 { // each time the line is better and fewer are wild
		for i := range t {
			rest[i] = x[i] - slope*(t[i]-t[0])
		}
		middle, limit := stat.Median(rest), wildLimit(rest)
		var keptT, keptX []float64
		for i, r := range rest {
			if math.Abs(r-middle) <= limit {
				keptT, keptX = append(keptT, t[i]), append(keptX, x[i])
			}
		}
		_, slope = regression.LinearRegression(keptT, keptX, nil, false) // half of the points or more
	}
	return slope
}

func medianSlope(t, x []float64) float64 {
	slopes := make([]float64, 0, len(t)*(len(t)-1)/2)
	for i := range t {
		for j := i + 1; j < len(t); j++ {
			slopes = append(slopes, (x[j]-x[i])/(t[j]-t[i]))
		}
	}
	return stat.Median(slopes)
}

// wildLimit is how far from the median a value may lie that is not wild: four
// robust deviations, and no flip of the last digit is wild.
func wildLimit(x []float64) float64 {
	if len(x) < fewPoints {
		return math.Inf(1) // too few to call one of them wild
	}
	return math.Max(4*stat.RobustSD(x), usualSteps(x))
}

// usualSteps is three steps from one value to the next as they usually are at most.
func usualSteps(x []float64) float64 {
	return 3 * stat.Quantile(stat.Magnitudes(stat.Differences(x)), 0.9)
}

// tamedMean returns the mean of x without its wild values.
func tamedMean(x []float64, limit float64) float64 {
	m := stat.Median(x)
	return stat.Mean(slices.DeleteFunc(slices.Clone(x), func(y float64) bool { return math.Abs(y-m) > limit }))
}

// blockMedians brings a trace down to n points at most; with no need to, it
// leaves every point. Averaging within a block keeps what digits dither.
func blockMedians(s []analysis.Sample, n int) (t, x []float64) {
	if len(s) <= n {
		return analysis.Times(s), analysis.Values(s)
	}
	each := (len(s) + n - 1) / n
	usual := usualSteps(analysis.Values(s))
	for i := 0; i < len(s); i += each {
		part := s[i:min(i+each, len(s))]
		v := analysis.Values(part)
		t, x = append(t, stat.Mean(analysis.Times(part))), append(x, tamedMean(v, math.Max(4*stat.RobustSD(v), usual)))
	}
	return t, x
}

// slopeU is the standard uncertainty of a robust slope: the scatter of the
// residuals, widened for neighbours that go together and for few points, so
// that twice it covers 95 %, and never less than the
// step of the display allows at both ends where noise does not make it dither.
func slopeU(t, residuals []float64, step float64, dithers bool) float64 {
	n := float64(len(t))
	stt := stat.Square(stat.StdDev(t)) * (n - 1)
	sd := stat.RobustSD(residuals)
	clipped := make([]float64, len(residuals))
	limit := 4 * math.Max(sd, step/2) // wild readings count as four deviations
	if len(t) < fewPoints {
		limit = math.Inf(1)
	}
	for i, v := range residuals {
		clipped[i] = math.Max(-limit, math.Min(limit, v))
	}
	// The plain deviation too: the robust one is nought where digits stand still.
	sd = math.Max(sd, stat.StdDev(clipped))
	if len(t) > 3 {
		sd *= math.Sqrt(float64(len(t)-1) / float64(len(t)-2))
	}
	// Residuals that go together say less: (1+r)/(1-r) readings count as one.
	// Sources: variance of the mean of a first-order autoregressive series; bias of
	// the coefficient by Kendall 1954.
	run := stat.Lag1(clipped)
	if run > 2/math.Sqrt(n) { // two standard deviations of what white noise shows
		run += (2 + 4*run) / n // a fitted line takes so much of it away
	}
	if !(run > 0) { // nor a number, where nothing is left
		run = 0
	}
	run = math.Min(run, 0.98) // as if a hundred were one, and no fewer
	each := (1 + run) / (1 - run)
	scatter := sd / math.Sqrt(stt) * math.Sqrt(each)
	scatter *= math.Max(1, gum.CoverageFactor(0.95, math.Min(n-2, math.Max(2, n/each-2)))/2)
	// Digits that stand still can hide a whole step from end to end.
	floor := gum.Rectangular(step) / (t[len(t)-1] - t[0])
	if dithers {
		floor = 0
	}
	return math.Hypot(scatter, floor)
}
