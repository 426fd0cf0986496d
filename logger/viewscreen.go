package logger

import (
	"cmp"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// NotSure is a verdict that is too close to call, for those who do not know the
// idiom.
const NotSure = "not sure"

// plainWords say on a screen what the record says in words of the trade.
var plainWords = strings.NewReplacer(gum.TooClose.String(), NotSure)

// OnScreen is the view as a screen shows it: in plain words, and the figures in
// inches, to the digits of the gauge, where that reads in inches. The record keeps
// millimetres.
func (v View) OnScreen() View {
	v.Reason, v.Action = plainWords.Replace(v.Reason), plainWords.Replace(v.Action)
	if v.InchDecimals == 0 {
		return v
	}
	const mm = 25.4
	if v.Printed == "" {
		v.Printed = strings.TrimPrefix(v.WindowText(), "window ")
	} else if strings.HasSuffix(v.Printed, " in") {
		v.Printed = ""
	}
	v.Unit, v.Decimals, v.InchDecimals, v.Window.Unit = "in", v.InchDecimals, 0, "in"
	r := &v.Round
	for _, x := range []*float64{
		&v.Reading, &v.Estimate, &v.EstimateU, &v.Value, &v.U, &v.Window.Lower, &v.Window.Upper,
		&r.Mean, &r.StdDev, &r.Spread, &r.SpreadU, &r.ResidualSD, &r.H1.Amplitude, &r.H2.Amplitude,
		&r.Tightest.Value, &r.Tightest.U, &r.Loosest.Value, &r.Loosest.U,
	} {
		*x /= mm
	}
	v.Positions = append([]PositionView(nil), v.Positions...)
	for i := range v.Positions {
		v.Positions[i].Value /= mm
		v.Positions[i].U /= mm
	}
	v.Trace = append([]analysis.Sample(nil), v.Trace...)
	for i := range v.Trace {
		v.Trace[i].X /= mm
	}
	v.Stops = append([]feature.Stop(nil), v.Stops...)
	for i := range v.Stops {
		v.Stops[i].Level /= mm
	}
	return v
}

// inchDecimals is how many decimals of an inch the gauge shows, with half a
// division of a dial that is read by eye; 0 where it reads in another unit.
func (r *Round) inchDecimals() int {
	unit := cmp.Or(r.last.Unit, r.cfg.Unit)
	if r.cfg.Keyed {
		unit = cmp.Or(r.last.Unit, r.setup.TypedUnit())
	}
	mm, err := units.Convert(1, unit, "mm")
	if tens := math.Log10(mm / 25.4); r.read.Quantity != "length" || err != nil || math.Abs(tens-math.Round(tens)) > 1e-9 {
		return 0
	}
	switch {
	case r.cfg.Keyed && r.setup.Resolution > 0:
		return min(feature.DecimalsOf(units.RoundTo(r.setup.Resolution/25.4, 1e-5))+1, 5)
	case r.last.Raw != "" && !r.cfg.Keyed:
		return max(r.written, 1) - int(math.Round(math.Log10(mm/25.4)))
	}
	return 4 // tenths of a thousandth, where nothing is known of it
}

// ResultUnit is the unit of what is measured, which of an air test is not that of
// the readings.
func (v View) ResultUnit() string {
	if own, _ := record.UnitOf(v.Feature); v.Feature == record.FeatureLeakDown {
		return own
	}
	return v.Unit
}
