package gum

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/stat"
)

// A GaugeCheck is what repeated readings of a known size, a feeler or a gauge
// block, say of a gauge. Lengths are in the unit of the readings.
type GaugeCheck struct {
	N             int
	Bias          float64 // mean reading less the size
	BiasU         float64 // its standard uncertainty, twice which covers 95 %: of the size and of the readings
	Repeatability float64 // standard deviation of a reading, no less than that of the display's step
	Cg, Cgk       float64 // see CheckGauge; NaN: no window with two ends
	Off           bool    // the bias is more than its uncertainty explains
}

// EnoughCg is what Cg and Cgk of a gauge that is good enough come to at least, and
// UsualRepeats how many readings they usually rest on.
// Source: ISO 22514-7:2021 (type 1 study), from memory.
const (
	EnoughCg     = 1.33
	UsualRepeats = 25
)

// ErrFewReadings marks fewer than three readings, or some that are not numbers.
var ErrFewReadings = errors.New("a gauge check takes three readings or more of one size")

// CheckGauge works out a gauge check of readings of the given size, itself known to
// sizeU (standard), on a display that counts in step (0: not known), against a
// window of width T:
//
//	Cg = 0.2·T / (6·s),  Cgk = (0.1·T - |bias|) / (3·s)
//
// The readings are to be made anew each time, the plunger lifted between them.
// Source: ISO 22514-7:2021 (type 1 study), from memory.
func CheckGauge(size, sizeU float64, readings []float64, window Limits, step float64) (GaugeCheck, error) {
	n := float64(len(readings))
	mean, scatter := stat.MeanStdDev(readings, nil)
	c := GaugeCheck{N: len(readings), Bias: mean - size, Cg: math.NaN(), Cgk: math.NaN()}
	b, err := Combine([]Component{
		{Name: "size", U: sizeU, Sensitivity: 1, DoF: math.Inf(1)},
		{Name: "readings", U: scatter / math.Sqrt(n), Sensitivity: 1, DoF: n - 1},
		{Name: "display", U: Resolution(step), Sensitivity: 1, DoF: math.Inf(1), Even: true}, // digits that stand hide it from all
	})
	if len(readings) < 3 || err != nil {
		return GaugeCheck{}, errors.Join(ErrFewReadings, err)
	}
	c.BiasU, c.Repeatability = b.Stated(), math.Max(scatter, Resolution(step))
	c.Off = math.Abs(c.Bias) > Coverage*c.BiasU
	if width := window.Width(); !math.IsInf(width, 1) {
		c.Cg, c.Cgk = 0.2*width/(6*c.Repeatability), (0.1*width-math.Abs(c.Bias))/(3*c.Repeatability)
	}
	return c, nil
}

// A HandCheck is what readings under a light and a firm push say of a set-up.
type HandCheck struct {
	Give  float64 // how much more a firm push reads than a light one, both stops together
	GiveU float64 // its standard uncertainty, twice which covers 95 %
	Push  float64 // half-width of the doubt that a usual push leaves, both stops together
}

// A firm push is twice to four times a light one, and the usual one lies between
// them: then what gives way under it is at most twice what the firm push makes of
// the light one's reading. Own arithmetic for a spring; the ratio from memory of
// the trade.
const givesAtMost = 2

// CheckHand works out how much of a backlash the hand makes, from readings of it
// under a light and under a firm push, as pairs at the same places, on a display
// that counts in step (0: not known).
func CheckHand(light, firm []float64, step float64) (HandCheck, error) {
	if len(light) != len(firm) {
		return HandCheck{}, errors.New("light and firm pushes differ in number")
	}
	more := make([]float64, len(light))
	for i := range more {
		more[i] = firm[i] - light[i]
	}
	c, err := CheckGauge(0, 0, more, NoLimits(""), step)
	if err != nil {
		return HandCheck{}, err
	}
	h := HandCheck{Give: c.Bias, GiveU: c.BiasU}
	h.Push = givesAtMost * (math.Max(h.Give, 0) + Coverage*h.GiveU)
	return h, nil
}
