package leak

import (
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/interp"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// temperatures fills in readings without a temperature between those with one: in
// a straight line, for a thermometer is read less often than it changes, and as
// the nearest one before the first and after the last. read are those with one.
func temperatures(s []Sample) (temps, read []float64) {
	var at []float64
	for _, q := range s {
		if q.hasTemperature() && (len(at) == 0 || q.T > at[len(at)-1]) {
			at, read = append(at, q.T), append(read, q.TempC)
		}
	}
	var line interp.PiecewiseLinear // the last holds on: so one alone is a line too
	if len(at) == 0 || line.Fit(append(at, at[len(at)-1]+1), append(read, read[len(read)-1])) != nil {
		return nil, nil
	}
	for _, q := range s {
		temps = append(temps, line.Predict(q.T))
	}
	return temps, read
}

func (q Sample) hasTemperature() bool { return stat.Sensible(q.TempC) && q.TempC > -zeroC }

// Without a thermometer the air of a line may warm or cool by so many °C in ten
// minutes or longer, in proportion in less, and by so many at least, for filling
// warms it. From memory of the trade.
const (
	unseenWarming = 2
	leastWarming  = 0.5
)

// addThermometer adds to the uncertainty what the thermometer's step can hide
// at either end of the test, as pressure: (p+ambient)/T·step/√12 each. Noise
// that makes its digits dither is in the scatter already.
// Source: JCGM 100:2008, F.2.2.1, through the ideal gas law.
func (r *Result) addThermometer(s []Sample, o Options) {
	if !r.Compensated {
		warming := math.Max(leastWarming, unseenWarming*math.Min(1, r.Minutes/10))
		r.addDoubt((r.Start + o.AmbientKPa) / usualKelvin * gum.Rectangular(warming))
		return
	}
	_, read := temperatures(s)
	step := stat.StepOr(o.TempResolution, read)
	if low, high := stat.Extremes(read); low == high && step == 0 {
		// The last digit that its reading has is all there is.
		step = lastDigit(low)
		r.Notes = append(r.Notes, analysis.TemperatureHeld.Of(step))
	}
	// A third of a step of noise, √2 times as much in a difference, as for the
	// pressure: then averaging sees past the digits.
	if stat.StdDev(stat.Differences(read)) > 0.3*math.Sqrt2*step {
		return
	}
	perKelvin := (r.Start + o.AmbientKPa) / (read[0] + zeroC)
	r.addDoubt(math.Sqrt2 * perKelvin * gum.Resolution(step))
}

// addDoubt adds a standard uncertainty to that of the drop, and to the rate its
// share.
func (r *Result) addDoubt(u float64) {
	r.DropU, r.RateU = math.Hypot(r.DropU, u), math.Hypot(r.RateU, u/r.Minutes)
}

// lastDigit is the size of the last decimal of v as it is written shortest.
func lastDigit(v float64) float64 {
	_, decimals, _ := strings.Cut(strconv.FormatFloat(v, 'f', -1, 64), ".")
	return math.Pow10(-len(decimals))
}
