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

// thermometerLag is how many seconds at most a thermometer comes after the air that
// it stands in. From memory of the trade.
const thermometerLag = 60

// addThermometer adds to the uncertainty what the thermometer may have missed, as
// pressure, (p+ambient)/T for each °C: what it still lagged behind the air by at the
// end but not at the beginning, from how much faster its last third rose than its
// first, and a whole step of it from end to end, unless noise makes its digits dither,
// for that is in the scatter already. Both are rectangles: of a slope through digits
// that flip but once the step makes an error of half of it (own simulation).
// Source: JCGM 100:2008, 4.3.7, through the ideal gas law.
func (r *Result) addThermometer(s []Sample, o Options) {
	if !r.Compensated {
		warming := math.Max(leastWarming, unseenWarming*math.Min(1, r.Minutes/10))
		r.addDoubt((r.Start + o.AmbientKPa) / usualKelvin * gum.Rectangular(warming))
		return
	}
	temps, read := temperatures(s)
	warmth := make([]analysis.Sample, len(s))
	for i, q := range s {
		warmth[i] = analysis.Sample{T: q.T, X: temps[i]}
	}
	third := max(2, len(s)/3)
	faster := robustSlope(warmth[len(s)-third:]) - robustSlope(warmth[:third])
	perKelvin := (r.Start + o.AmbientKPa) / (read[0] + zeroC)
	r.addDoubt(perKelvin * gum.Rectangular(thermometerLag*math.Abs(faster)))
	step := stat.StepOr(o.TempResolution, read)
	if low, high := stat.Extremes(read); low == high && step == 0 {
		// The last decimal that its reading has, written shortest, is all there is.
		_, decimals, _ := strings.Cut(strconv.FormatFloat(low, 'f', -1, 64), ".")
		step = math.Pow10(-len(decimals))
		r.Notes = append(r.Notes, analysis.TemperatureHeld.Of(step))
	}
	// A third of a step of noise, √2 times as much in a difference, as for the
	// pressure: then averaging sees past the digits.
	if stat.StdDev(stat.Differences(read)) > 0.3*math.Sqrt2*step {
		return
	}
	r.addDoubt(perKelvin * gum.Rectangular(step))
}

// addDoubt adds a standard uncertainty to that of the drop, and to the rate its
// share.
func (r *Result) addDoubt(u float64) {
	r.DropU, r.RateU = math.Hypot(r.DropU, u), math.Hypot(r.RateU, u/r.Minutes)
}
