package analysis

import (
	"fmt"
	"math"
)

// PinionTurnAngles returns the angles of the crown wheel, 0 first, at which
// the same pinion tooth is in mesh again: one whole turn of the pinion apart,
// once round the wheel or a little over. halfTurn gives those half a pinion
// turn further on, which show up a pinion that runs out. An odd remainder
// means the last step passes the first mark.
func PinionTurnAngles(pinionTeeth, wheelTeeth int, halfTurn bool) ([]float64, error) {
	if pinionTeeth < 1 || wheelTeeth <= pinionTeeth {
		return nil, fmt.Errorf("teeth %d/%d: the wheel must have more than the pinion", pinionTeeth, wheelTeeth)
	}
	step := 360 * float64(pinionTeeth) / float64(wheelTeeth)
	first := 0.0
	if halfTurn {
		first = step / 2
	}
	turns := int(math.Round(float64(wheelTeeth) / float64(pinionTeeth)))
	angles := make([]float64, turns)
	for i := range angles {
		angles[i] = wrap(first+float64(i)*step, 360)
	}
	return angles, nil
}

// PinionEffect compares a round taken at whole pinion turns with one half a
// turn further on. The crown wheel's own run-out averages out of both means, so
// their difference is what the pinion does: significant, and the pinion or its
// bearings run out. Its positions are not paired.
// Source: common practice; two-sample comparison of means.
func PinionEffect(whole, half []RoundPoint) Change {
	a, b := latestPoints(whole), latestPoints(half)
	c := Change{Mean: math.NaN(), U: math.NaN(), K: math.NaN(), DoF: math.NaN()}
	if len(a) < 3 || len(b) < 3 {
		c.Text = "three positions or more are needed in each round"
		return c
	}
	ma, ua := meanWithoutWheel(a)
	mb, ub := meanWithoutWheel(b)
	c.Mean, c.U, c.DoF = mb-ma, math.Hypot(ua, ub), math.Inf(1)
	c.K = CoverageFactor(0.95, c.DoF)
	c.Significant = math.Abs(c.Mean) > c.K*c.U
	c.Text = fmt.Sprintf("the pinion shows no run-out beyond %.3f mm", c.K*c.U)
	if c.Significant {
		c.Text = fmt.Sprintf("half a pinion turn on, the backlash is %.3f mm %s: the pinion runs out", math.Abs(c.Mean), looser(c.Mean))
	}
	return c
}

func looser(change float64) string {
	if change < 0 {
		return "tighter"
	}
	return "looser"
}

// meanWithoutWheel returns the mean of a round with the crown wheel's
// once-around part taken out, which uneven angles would leave in a plain mean,
// and its standard uncertainty.
func meanWithoutWheel(p []RoundPoint) (mean, u float64) {
	angles, values := make([]float64, len(p)), make([]float64, len(p))
	variance := 0.0
	for i, q := range p {
		angles[i], values[i] = q.AngleDeg, q.Value
		variance += square(q.U)
	}
	n := float64(len(p))
	u = math.Sqrt(variance) / n
	fit, err := FitHarmonics(angles, values, 1)
	if err != nil {
		return Mean(values), math.Hypot(u, StdDev(values)/math.Sqrt(n))
	}
	if finite(fit.ResidualSD) {
		u = math.Max(u, fit.ResidualSD/math.Sqrt(n))
	}
	return fit.Mean, u
}
