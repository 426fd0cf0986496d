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
		raw[i] = q.reading()
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
	r.line(p, step, dithers)
	r.exponential(p, step, dithers)
	r.RateU, r.DropU = wider*r.RateU, wider*r.DropU
	r.settling(p, step)
	r.addThermometer(s, o)
	r.remarks()
	return r
}

func refusedLeak(f analysis.Fault, why analysis.Note) Result {
	nan := math.NaN()
	return Result{RatePerMin: nan, RateU: nan, Drop: nan, DropU: nan, RawPerMin: nan, Start: nan, TauMin: nan,
		Minutes: nan, WarmingC: nan,
		Refused: true, Faults: []analysis.Fault{f}, Notes: []analysis.Note{why}}
}

// Compensated restates pressures in kPa above ambient at the first temperature,
//
//	p' = (p + ambient)·T₀/T - ambient in kelvin,
//
// with the temperatures between those that were read filled in, and says by how many
// °C the air warmed. Where none was read it returns s as it is, and false. s is
// unchanged.
func Compensated(s []Sample, ambient float64) (p []Sample, warmingC float64, known bool) {
	temps, known := temperatures(s)
	if !known {
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

// line fills in the straight-line results and their uncertainty.
func (r *Result) line(p []analysis.Sample, step float64, dithers bool) {
	slope := robustSlope(p)
	r.RatePerMin = 0 - 60*slope
	t, x := blockMedians(p, leakPoints)
	first, whole := p[0].T, analysis.Span(p)
	rest := make([]float64, len(t))
	for i := range t {
		rest[i] = x[i] - slope*(t[i]-first)
	}
	middle := tamedMean(rest, wildLimit(rest))
	for i := range rest {
		rest[i] -= middle
	}
	r.Start, r.Drop = middle, -slope*whole
	perSecond := slopeU(t, rest, step, dithers)
	r.RateU = 60 * perSecond
	r.DropU = perSecond * whole
}

// exponential fits p = p₀·e^(-t/τ) and keeps it where it leaves clearly less
// than the line: then Start, Drop and the rate come from it.
func (r *Result) exponential(p []analysis.Sample, step float64, dithers bool) {
	t, x := blockMedians(p, leakPoints)
	if len(t) < 8 { // too few to tell a bend from a line
		return
	}
	first, whole := p[0].T, analysis.Span(p)
	tau, start, ok := expFit(first, t, x)
	if !ok {
		return
	}
	lineRest, rest := make([]float64, len(t)), make([]float64, len(t))
	for i := range t {
		lineRest[i] = x[i] - r.Start + r.Drop*(t[i]-first)/whole
		rest[i] = x[i] - start*math.Exp(-(t[i]-first)/tau)
	}
	// A fifth less: a parameter more always leaves a little less.
	if stat.Mean(stat.Magnitudes(rest)) > 0.8*stat.Mean(stat.Magnitudes(lineRest)) {
		return
	}
	r.TauMin = tau / 60
	r.Start, r.Drop = start, start*(1-math.Exp(-whole/tau))
	perSecond := slopeU(t, rest, step, dithers)
	r.RateU, r.DropU = 60*perSecond, perSecond*whole
	r.RatePerMin = 60 * r.Drop / whole
}

// expFit fits start·e^(-(t-first)/tau) by Gauss-Newton on the pressures from a
// straight line through their logarithms. ok is false when the pressure does
// not fall or is not above zero throughout.
func expFit(first float64, t, x []float64) (tau, start float64, ok bool) {
	// The logarithms weigh low pressures too much, so they only give the start.
	logs := make([]analysis.Sample, len(t))
	for i, v := range x {
		if v <= 0 {
			return 0, 0, false
		}
		logs[i] = analysis.Sample{T: t[i], X: math.Log(v)}
	}
	rate := -robustSlope(logs)
	if !(rate > 0) {
		return 0, 0, false
	}
	rest := make([]float64, len(t))
	for i := range t {
		rest[i] = logs[i].X + rate*(t[i]-first)
	}
	start = math.Exp(stat.Median(rest))
	for range 20 { // it converges in five or does not
		var aa, ab, bb, ra, rb float64
		for i := range t {
			d := t[i] - first
			e := math.Exp(-rate * d)
			ga, gb, miss := e, -start*d*e, x[i]-start*e
			aa, ab, bb = aa+ga*ga, ab+ga*gb, bb+gb*gb
			ra, rb = ra+ga*miss, rb+gb*miss
		}
		det := aa*bb - ab*ab
		if !(det > 0) {
			break
		}
		ds, dr := (ra*bb-rb*ab)/det, (rb*aa-ra*ab)/det
		start, rate = start+ds, rate+dr
		if !(rate > 0) || !stat.Finite(start) {
			return 0, 0, false
		}
	}
	return 1 / rate, start, true
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

// settling counts a quick loss at the start, which no line or exponential meets,
// and notes a pressure that falls faster at first.
func (r *Result) settling(p []analysis.Sample, step float64) {
	r.quickLoss(p, step)
	if n := len(p); n >= 12 {
		early, late := -60*robustSlope(p[:n/3]), -60*robustSlope(p[2*n/3:])
		// A third of the test knows its slope some five times worse than the whole
		// (3^1.5); six standard uncertainties of that are no chance.
		doubt := math.Max(6*r.RateU*3, 60*step/analysis.Span(p[:n/3]))
		if early-late > math.Max(doubt, 0.5*math.Abs(late)) && math.IsNaN(r.TauMin) {
			r.Notes = append(r.Notes, analysis.StillSettling.Of())
		}
	}
}

// quickLoss adds what was lost faster than the fit at the start of the test, where
// more readings in a row lie above it than chance or a wild one puts there.
func (r *Result) quickLoss(p []analysis.Sample, step float64) {
	t, x := blockMedians(p, leakPoints)
	if len(t) < 2*fewPoints {
		return
	}
	fit := func(at float64) float64 {
		if math.IsNaN(r.TauMin) {
			return r.Start - r.Drop*at/analysis.Span(p)
		}
		return r.Start * math.Exp(-at/60/r.TauMin)
	}
	rest := make([]float64, len(t))
	for i := range t {
		rest[i] = x[i] - fit(t[i]-p[0].T)
	}
	// Five robust deviations three times over, and more than a digit's flip.
	limit := math.Max(5*stat.RobustSD(rest[len(rest)/2:]), 2*step)
	n := 0
	for n < len(rest) && rest[n] > limit {
		n++
	}
	if n < 3 || n > len(rest)/3 {
		return
	}
	first := p[0].X
	if math.Abs(first-p[1].X) > 2*math.Abs(p[1].X-p[2].X)+limit { // wild
		first = p[1].X
	}
	lost := first - fit(0)
	r.Start, r.Drop = first, r.Drop+lost
	r.RatePerMin = r.Drop / r.Minutes
	r.addDoubt(limit / 5)
	r.Notes = append(r.Notes, analysis.QuickLoss.Of(lost, t[n-1]-p[0].T))
}
