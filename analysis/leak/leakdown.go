// Package leak measures how fast a closed volume loses pressure.
package leak

import (
	"math"
	"slices"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// A Sample is one reading of a closed volume under pressure.
type Sample struct {
	T     float64 // seconds
	P     float64 // gauge pressure, kPa
	TempC float64 // temperature of the air, °C; NaN: not measured
}

func (q Sample) reading() analysis.Sample { return analysis.Sample{T: q.T, X: q.P} }

// Options says what is known of the test. Zero values are fine.
type Options struct {
	AmbientKPa     float64 // barometer, kPa; 0: 101.325
	Resolution     float64 // of the pressure gauge, kPa; 0: taken from the readings
	TempResolution float64 // of the thermometer, °C; 0: taken from the readings
	Followed       bool    // the gauge was seen to follow the pressure: a reading that never changes is no held one
}

// Result is the fall of pressure in a closed volume. Pressures are kPa.
type Result struct {
	RatePerMin  float64 // pressure lost a minute, mean over the test, at the first temperature; positive: losing; NaN when refused
	RateU       float64 // twice it covers 95 %
	Drop        float64 // lost from the first to the last reading, along the fit
	DropU       float64 // its standard uncertainty
	RawPerMin   float64 // the rate as read, without temperature
	Start       float64 // pressure at the first reading, along the fit
	TauMin      float64 // time constant of an exponential fall, minutes; NaN: a straight line fits as well
	Minutes     float64 // length of the test
	Compensated bool    // temperature taken out
	WarmingC    float64 // temperature gained over the test, °C; NaN: not measured
	Refused     bool
	Faults      []analysis.Fault
	Notes       []analysis.Note
}

// leakPoints bounds the points of the robust slope, which compares all pairs.
const leakPoints = 250

// zeroC is 0 °C in kelvin.
const zeroC = 273.15

// usualKelvin is the temperature of a workshop where none was read.
const usualKelvin = 20 + zeroC

// StandardAtmosphere is the usual barometer, kPa. Source: ISO 2533.
const StandardAtmosphere = 101.325

// Measure measures how fast a closed volume loses pressure. Where the
// temperature is known every pressure is restated at that of the first reading,
//
//	p' = (p + ambient)·T₀/T - ambient    (kelvin)
//
// The rate is a robust slope: the median of all pairs (Theil-Sen), then least
// squares without wild readings; an exponential fall is fitted beside it. It
// refuses fewer than three readings, no time, or no pressure.
// Sources: ideal gas law; 40 CFR 1065.644; Sen 1968.
func Measure(samples []Sample, o Options) Result {
	s, gaps := analysis.InOrder(samples, Sample.reading, 0)
	if len(s) < 3 || !(s[len(s)-1].T > s[0].T) {
		return refusedLeak(analysis.TooShort, analysis.FewReadings.Of(float64(len(s))))
	}
	if !(o.AmbientKPa > 0) {
		o.AmbientKPa = StandardAtmosphere
	}
	r := Result{TauMin: math.NaN(), WarmingC: math.NaN(), Faults: []analysis.Fault{}, Notes: []analysis.Note{}}
	raw := make([]analysis.Sample, len(s))
	for i, q := range s {
		raw[i] = analysis.Sample{T: q.T - s[0].T, X: q.P}
	}
	step := stat.StepOr(o.Resolution, analysis.Values(raw))
	// Half a kPa is what a gauge at rest may show; the first twentieth, so that one
	// wild reading at the start does not decide.
	if stat.Median(analysis.Values(raw[:min(len(raw), max(3, len(raw)/20))])) < math.Max(0.5, 3*step) {
		return refusedLeak(analysis.NotPressurised, analysis.ZeroFromStart.Of())
	}
	if low, high := stat.Extremes(analysis.Values(raw)); low == high && !(o.Followed && step > 0) {
		return refusedLeak(analysis.Frozen, analysis.NeverChanged.Of())
	}
	if gaps > 0 {
		r.Faults = append(r.Faults, analysis.Gaps)
		r.Notes = append(r.Notes, analysis.ReadingGaps.Of(float64(gaps)))
	}
	p := r.compensate(s, raw, o.AmbientKPa)
	r.Minutes = analysis.Span(p) / 60
	wider := r.untapped(p, step)
	r.RawPerMin = 0 - 60*robustSlope(raw)
	// Noise of a third of a step makes the digits dither, and averages them.
	dithers := stat.StdDev(stat.Differences(analysis.Values(raw))) > 0.3*math.Sqrt2*step
	t, x := blockMedians(p, leakPoints)
	f := straight(p, t, x)
	if bent, ok := exponential(t, x); ok && len(t) >= fewPoints { // else too few to tell a bend from a line
		// A fifth less: a parameter more always leaves a little less.
		if stat.Mean(stat.Magnitudes(bent.left(t, x))) <= 0.8*stat.Mean(stat.Magnitudes(f.left(t, x))) {
			f, r.TauMin = bent, bent.tau/60
		}
	}
	whole := analysis.Span(p)
	r.Start, r.Drop = f.start, f.start-f.at(whole)
	r.DropU = wider * slopeU(t, f.left(t, x), step, dithers) * whole
	r.RatePerMin, r.RateU = r.Drop/r.Minutes, r.DropU/r.Minutes
	r.quickLoss(p, f, t, x, step)
	r.settling(p, step)
	r.addThermometer(s, o)
	r.remarks()
	return r
}

func refusedLeak(f analysis.Fault, why analysis.Note) Result {
	nan := math.NaN()
	return Result{RatePerMin: nan, RateU: nan, Drop: nan, DropU: nan, RawPerMin: nan, Start: nan, TauMin: nan,
		Minutes: nan, WarmingC: nan, Refused: true, Faults: []analysis.Fault{f}, Notes: []analysis.Note{why}}
}

// Compensated restates pressures in kPa above ambient at the first temperature,
//
//	p' = (p + ambient)·T₀/T - ambient in kelvin,
//
// with the temperatures between those that were read filled in, and says by how many
// °C the air warmed. Where none was read it returns s as it is, and false. s is
// unchanged.
func Compensated(s []Sample, ambient float64) (p []Sample, warmingC float64, known bool) {
	temps, read := temperatures(s)
	if len(read) == 0 {
		return s, math.NaN(), false
	}
	n := len(temps)
	few := max(1, n/20) // a twentieth at either end averages a thermometer's flicker
	first, last := stat.Median(temps[:few]), stat.Median(temps[n-few:])
	p = slices.Clone(s)
	for i, q := range s {
		p[i].P = (q.P+ambient)*(first+zeroC)/(temps[i]+zeroC) - ambient
	}
	return p, last - first, true
}

// compensate restates the pressures at the first temperature.
func (r *Result) compensate(s []Sample, raw []analysis.Sample, ambient float64) []analysis.Sample {
	p, warming, known := Compensated(s, ambient)
	if !known {
		r.Notes = append(r.Notes, analysis.NoTemperature.Of(math.Round((raw[0].X+ambient)/2.9315)/100))
		return raw
	}
	r.Compensated, r.WarmingC = true, warming
	restated := slices.Clone(raw)
	for i, q := range p {
		restated[i].X = q.P
	}
	return restated
}

// A fall is a pressure that falls, by the seconds since the first reading.
type fall struct {
	start     float64
	perSecond float64 // of a straight one
	tau       float64 // time constant in seconds of an exponential one to nothing; 0: straight
}

func (f fall) at(seconds float64) float64 {
	if f.tau > 0 {
		return f.start * math.Exp(-seconds/f.tau)
	}
	return f.start + f.perSecond*seconds
}

// left is what the fall leaves of the pressures x.
func (f fall) left(t, x []float64) []float64 {
	rest := make([]float64, len(t))
	for i := range t {
		rest[i] = x[i] - f.at(t[i])
	}
	return rest
}

// straight is the line through the pressures; t and x are their blocks.
func straight(p []analysis.Sample, t, x []float64) fall {
	f := fall{perSecond: robustSlope(p)}
	rest := f.left(t, x)
	f.start = tamedMean(rest, wildLimit(rest))
	return f
}

// exponential fits a fall to nothing by Gauss-Newton on the pressures, from a
// straight line through their logarithms. ok is false when the pressure does
// not fall or is not above zero throughout.
func exponential(t, x []float64) (f fall, ok bool) {
	// The logarithms weigh low pressures too much, so they only give the start.
	logs, l := make([]analysis.Sample, len(t)), make([]float64, len(t))
	for i, v := range x {
		if v <= 0 {
			return f, false
		}
		l[i] = math.Log(v)
		logs[i] = analysis.Sample{T: t[i], X: l[i]}
	}
	rate := -robustSlope(logs)
	start := math.Exp(stat.Median(fall{perSecond: -rate}.left(t, l)))
	for range 20 { // it converges in five or does not
		if !(rate > 0) || !stat.Finite(start) {
			return f, false
		}
		f = fall{start: start, tau: 1 / rate}
		var aa, ab, bb, ra, rb float64
		for i, miss := range f.left(t, x) {
			ga := math.Exp(-rate * t[i])
			gb := -start * t[i] * ga
			aa, ab, bb = aa+ga*ga, ab+ga*gb, bb+gb*gb
			ra, rb = ra+ga*miss, rb+gb*miss
		}
		det := aa*bb - ab*ab
		if !(det > 0) {
			break
		}
		start, rate = start+(ra*bb-rb*ab)/det, rate+(rb*aa-ra*ab)/det
	}
	return f, true
}

// remarks adds what the fitter should know of the run.
func (r *Result) remarks() {
	// Within a minute a digit of the display is several of them in the rate.
	if r.Minutes < 1 {
		r.Notes = append(r.Notes, analysis.ShortTest.Of(60*r.Minutes))
	}
	if math.Abs(r.RatePerMin) < 2*r.RateU {
		r.Notes = append(r.Notes, analysis.NoLeakSeen.Of())
	}
	// Worth a word where the temperature made a fifth of the rate or more.
	if r.Compensated && math.Abs(r.RawPerMin-r.RatePerMin) > math.Max(r.RateU, 0.2*math.Abs(r.RatePerMin)) {
		r.Notes = append(r.Notes, analysis.Warmed.Of(r.WarmingC, r.RawPerMin))
	}
}

// settling notes a pressure that falls faster at first.
func (r *Result) settling(p []analysis.Sample, step float64) {
	n := len(p)
	if n < 12 || !math.IsNaN(r.TauMin) {
		return
	}
	early, late := -60*robustSlope(p[:n/3]), -60*robustSlope(p[2*n/3:])
	// A third of the test knows its slope some five times worse than the whole
	// (3^1.5); six standard uncertainties of that are no chance.
	doubt := math.Max(6*r.RateU*3, 60*step/analysis.Span(p[:n/3]))
	if early-late > math.Max(doubt, 0.5*math.Abs(late)) {
		r.Notes = append(r.Notes, analysis.StillSettling.Of())
	}
}

// quickLoss adds what was lost faster than the fall f at the start of the test, where
// more readings in a row lie above it than chance or a wild one puts there.
func (r *Result) quickLoss(p []analysis.Sample, f fall, t, x []float64, step float64) {
	if len(t) < 2*fewPoints {
		return
	}
	rest := f.left(t, x)
	// Five robust deviations three times over, and more than a digit's flip.
	limit := math.Max(5*stat.RobustSD(rest[len(rest)/2:]), 2*step)
	n := slices.IndexFunc(rest, func(v float64) bool { return v <= limit })
	if n < 3 || n > len(rest)/3 {
		return
	}
	first := p[0].X
	if math.Abs(first-p[1].X) > 2*math.Abs(p[1].X-p[2].X)+limit { // wild
		first = p[1].X
	}
	lost := first - f.start
	r.Start, r.Drop = first, r.Drop+lost
	r.RatePerMin = r.Drop / r.Minutes
	r.addDoubt(limit / 5)
	r.Notes = append(r.Notes, analysis.QuickLoss.Of(lost, t[n-1]))
}
