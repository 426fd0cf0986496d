package analysis

import (
	"math"
	"slices"
)

// theilSen returns the median slope of all pairs of points at different times,
// in X per second, of a trace brought down to leakPoints medians.
func theilSen(s []Sample) float64 {
	t, x := blockMedians(s, leakPoints)
	slopes := make([]float64, 0, len(t)*(len(t)-1)/2)
	for i := range t {
		for j := i + 1; j < len(t); j++ {
			slopes = append(slopes, (x[j]-x[i])/(t[j]-t[i]))
		}
	}
	slices.Sort(slopes)
	return sortedQuantile(slopes, 0.5)
}

// blockMedians brings a trace down to n points at most; with no need to, it
// leaves every point. Averaging within a block keeps what digits dither.
func blockMedians(s []Sample, n int) (t, x []float64) {
	if len(s) <= n {
		return times(s), values(s)
	}
	each := (len(s) + n - 1) / n
	for i := 0; i < len(s); i += each {
		part := s[i:min(i+each, len(s))]
		v := values(part)
		m, sd := Median(v), robustSD(v)
		sum, count := 0.0, 0.0
		for _, y := range v { // mean without the wild ones
			if math.Abs(y-m) <= 4*sd {
				sum += y
				count++
			}
		}
		if count > 0 {
			m = sum / count
		}
		t, x = append(t, Mean(times(part))), append(x, m)
	}
	return t, x
}

// slopeU is the standard uncertainty of a robust slope: the scatter of the
// residuals, widened for neighbours that go together and never less than the
// step of the display allows at both ends.
func slopeU(t, residuals []float64, step float64) float64 {
	mt, stt := Mean(t), 0.0
	for _, v := range t {
		stt += (v - mt) * (v - mt)
	}
	sd := robustSD(residuals)
	clipped := make([]float64, len(residuals))
	limit := 4 * math.Max(sd, step/2)
	for i, v := range residuals {
		clipped[i] = math.Max(-limit, math.Min(limit, v))
	}
	sd = math.Max(sd, StdDev(clipped))
	if len(t) > 3 {
		sd *= math.Sqrt(float64(len(t)-1) / float64(len(t)-2))
	}
	run := Lag1(clipped)
	if !(run > 0) {
		run = 0
	}
	run = math.Min(run, 0.98)
	// 1.05: Theil-Sen needs a tenth more points than least squares for normal
	// scatter.
	scatter := 1.05 * sd / math.Sqrt(stt) * math.Sqrt((1+run)/(1-run))
	// Digits that stand still can hide a whole step from end to end.
	floor := Rectangular(step) / (t[len(t)-1] - t[0])
	if sd > step { // the digits dither: the step averages out
		floor = 0
	}
	return math.Hypot(scatter, floor)
}
