package leak

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// untapped takes a single step out of the pressures, as a gauge makes that stuck
// and was tapped, and returns how much wider a slope is then known: 1 where there
// is none. A step is abrupt, leaves less than two fifths of the scatter, is a
// thousandth of the pressure at least, and is more than a slow fall makes of a coarse display.
func (r *Result) untapped(p []analysis.Sample, step float64) (wider float64) {
	t, x := blockMedians(p, leakPoints)
	const side = 5 // points on either side that show a level
	best, at, size := math.Inf(1), 0, 0.0
	for i := side; i+side <= len(t); i++ {
		if rss, jump, share := twoLevels(t, x, i); rss < best {
			best, at, size, wider = rss, i, jump, 1/math.Sqrt(share)
		}
	}
	whole, _, _ := twoLevels(t, x, 0)
	if at == 0 || best > 0.4*whole {
		return 1
	}
	sd := math.Sqrt(math.Max(best, 0) / float64(len(t)-3)) // rounding may take it below nought
	if math.Abs(size) < math.Max(6*sd/math.Sqrt(side), math.Max(2.5*step, 1e-3*math.Abs(x[0]))) || math.Abs(x[at+1]-x[at-2]) < 0.7*math.Abs(size) {
		return 1
	}
	for i := range p {
		if p[i].T >= t[at]-(t[at]-t[at-1])/2 {
			p[i].X -= size
		}
	}
	r.Faults = append(r.Faults, analysis.ZeroShift)
	r.Notes = append(r.Notes, analysis.GaugeStepped.Of(size, t[at]-t[0]))
	return wider
}

// twoLevels fits one slope and a level on either side of point i, and returns the
// sum of squares that it leaves, the step from one to the other, and the share of
// the time's sum of squares that is left to tell the slope by.
func twoLevels(t, x []float64, i int) (rss, size, share float64) {
	var stt, stx, sxx, mt, mx [2]float64
	for k, part := range [][2]int{{0, i}, {i, len(t)}} {
		if part[0] == part[1] {
			continue
		}
		tt, xx := t[part[0]:part[1]], x[part[0]:part[1]]
		mt[k], mx[k] = stat.Mean(tt), stat.Mean(xx)
		for j := range tt {
			dt, dx := tt[j]-mt[k], xx[j]-mx[k]
			stt[k], stx[k], sxx[k] = stt[k]+dt*dt, stx[k]+dt*dx, sxx[k]+dx*dx
		}
	}
	slope := (stx[0] + stx[1]) / (stt[0] + stt[1])
	total, middle := 0.0, stat.Mean(t)
	for _, v := range t {
		total += (v - middle) * (v - middle)
	}
	rss = sxx[0] + sxx[1] - slope*(stx[0]+stx[1])
	return rss, mx[1] - mx[0] - slope*(mt[1]-mt[0]), (stt[0] + stt[1]) / total
}
