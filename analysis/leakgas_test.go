package analysis

import "math"

// gasConstant is the molar gas constant R, J/(mol·K). Source: SI 2019, exact.
const gasConstant = 8.31446261815324

// leakThroughput returns the leak of a volume in Pa·m³/s at the first
// temperature, from two absolute pressures in Pa and temperatures in K dt
// seconds apart:
//
//	Q = V · (p1 - p2·T1/T2) / dt
//
// Positive means losing. It returns NaN for a dt or temperature not above 0.
// Source: ideal gas law.
func leakThroughput(volume, p1, t1, p2, t2, dt float64) float64 {
	if !(dt > 0) || !(t1 > 0) || !(t2 > 0) {
		return math.NaN()
	}
	return volume * (p1 - p2*t1/t2) / dt
}

// leakMoles returns the gas gained by a volume in mol/s, with the gas constant
// r (gasConstant, unless a rule prescribes an older one):
//
//	n = V/R · (p2/T2 - p1/T1) / dt
//
// Source: 40 CFR 1065.644.
func leakMoles(volume, p1, t1, p2, t2, dt, r float64) float64 {
	if !(dt > 0) || !(t1 > 0) || !(t2 > 0) || !(r > 0) {
		return math.NaN()
	}
	return volume / r * (p2/t2 - p1/t1) / dt
}
