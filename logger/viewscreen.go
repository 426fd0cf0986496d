package logger

import (
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
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
	v.Unit, v.Decimals, v.InchDecimals, v.Window.Unit, v.Printed = "in", v.InchDecimals, 0, "in", ""
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
