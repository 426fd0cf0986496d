package leak

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// Between measures the fall of pressure from two readings, as taken with
// a plain gauge and a clock. Where both temperatures are known the second
// pressure is restated at the first temperature, as Measure does. The
// rate's uncertainty is that of reading two pressures, and two temperatures,
// to their last digit; what the gauge is wrong by as a whole drops out of the
// difference. It refuses readings without time or pressure between them.
// Sources: ideal gas law; JCGM 100:2008, 4.3.7 and 5.1.2.
func Between(start, end Sample, o Options) Result {
	if !stat.Sensible(start.P) || !stat.Sensible(end.P) || !(end.T > start.T) {
		return refusedLeak(analysis.TooShort, analysis.NoTime.Of())
	}
	if !(start.P > 0) {
		return refusedLeak(analysis.NotPressurised, analysis.ZeroFromStart.Of())
	}
	if !(o.AmbientKPa > 0) {
		o.AmbientKPa = StandardAtmosphere
	}
	s := []Sample{start, end}
	if !stat.Sensible(start.TempC) || !stat.Sensible(end.TempC) {
		s[0].TempC, s[1].TempC = math.NaN(), math.NaN()
	}
	r := Result{TauMin: math.NaN(), WarmingC: math.NaN(), Faults: []analysis.Fault{}, Notes: []analysis.Note{}}
	p := r.compensate(s, []analysis.Sample{start.reading(), end.reading()}, o.AmbientKPa)
	u := math.Sqrt2 * gum.Resolution(o.Resolution)
	if r.Compensated {
		perDegree := (end.P + o.AmbientKPa) / (end.TempC + zeroC)
		u = math.Hypot(u, perDegree*math.Sqrt2*gum.Resolution(o.TempResolution))
	}
	r.Minutes = (end.T - start.T) / 60
	r.Start, r.Drop, r.DropU = p[0].X, p[0].X-p[1].X, u
	r.RatePerMin, r.RateU = r.Drop/r.Minutes, u/r.Minutes
	if !r.Compensated {
		r.addThermometer(s, o)
	}
	r.RawPerMin = (start.P - end.P) / r.Minutes
	if r.RateU > 0 && math.Abs(r.Drop) < 2*u {
		r.Notes = append(r.Notes, analysis.LastDigit.Of(r.Drop))
	}
	return r
}
