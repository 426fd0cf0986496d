package analysis

import (
	"fmt"
	"math"
)

// LeakBetween measures the fall of pressure from two readings, as taken with
// a plain gauge and a clock. Where both temperatures are known the second
// pressure is restated at the first temperature, as MeasureLeakDown does. The
// rate's uncertainty is that of reading two pressures, and two temperatures,
// to their last digit; what the gauge is wrong by as a whole drops out of the
// difference. It refuses readings without time or pressure between them.
// Sources: ideal gas law; JCGM 100:2008, 4.3.7 and 5.1.2.
func LeakBetween(start, end LeakSample, o LeakOptions) LeakDown {
	if !sensible(start.P) || !sensible(end.P) || !(end.T > start.T) {
		return refusedLeak(TooShort, "no time passed between the two readings")
	}
	if !(start.P > 0) {
		return refusedLeak(NotPressurised, "the pressure is at zero from the beginning")
	}
	if !(o.AmbientKPa > 0) {
		o.AmbientKPa = StandardAtmosphere
	}
	s := []LeakSample{start, end}
	if !sensible(start.TempC) || !sensible(end.TempC) {
		s[0].TempC, s[1].TempC = math.NaN(), math.NaN()
	}
	r := LeakDown{TauMin: math.NaN(), WarmingC: math.NaN(), ResidualSD: math.NaN(), Faults: []Fault{}, Notes: []string{}, PointsUsed: 2}
	p := r.compensate(s, []Sample{{start.T, start.P}, {end.T, end.P}}, o.AmbientKPa)
	u := math.Sqrt2 * Resolution(o.Resolution)
	if r.Compensated {
		perDegree := (end.P + o.AmbientKPa) / (end.TempC + zeroC)
		u = math.Hypot(u, perDegree*math.Sqrt2*Resolution(o.TempResolution))
	}
	r.Minutes = (end.T - start.T) / 60
	r.Start, r.Drop, r.DropU = p[0].X, p[0].X-p[1].X, u
	r.RatePerMin, r.RateU = r.Drop/r.Minutes, u/r.Minutes
	r.RawPerMin, r.InitialRate = (start.P-end.P)/r.Minutes, r.RatePerMin
	r.PercentLost = 100 * r.Drop / r.Start
	if r.RateU > 0 && math.Abs(r.Drop) < 2*u {
		r.Notes = append(r.Notes, fmt.Sprintf("the drop of %s kPa is no more than the gauge's last digit can tell", short(r.Drop)))
	}
	return r
}
