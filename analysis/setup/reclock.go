package setup

import (
	"fmt"
	"math"
	"math/cmplx"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/internal/stat"
)

// A Reclocking is the best way to bolt a crown wheel back onto its flange.
type Reclocking struct {
	Holes       int     // bolt holes to turn the wheel on by, towards growing angle; 0: leave it
	AngleDeg    float64 // the same as an angle
	Before      float64 // once-a-turn FIM now: twice the amplitude
	After       float64 // once-a-turn FIM predicted
	Gain        float64 // Before less After
	PerPosition []float64
}

// Reclock finds the bolt hole that gives the least combined once-a-turn
// run-out. flange is the bare flange's first harmonic and total that of the
// wheel bolted to it, both at the same angles of the carrier, in any one unit.
// The wheel's own vector is W = total - flange; turned by k holes it gives
//
//	total(k) = flange + W·e^(i·2πk/holes)
//
// It cannot cure what comes twice a turn. PerPosition is the FIM predicted for
// each k. holes must be at least 2.
// Source: vector addition; own derivation.
func Reclock(flange, total analysis.Harmonic, holes int) (Reclocking, error) {
	if holes < 2 {
		return Reclocking{}, fmt.Errorf("%d bolt holes are too few to turn the wheel by", holes)
	}
	f, t := vector(flange), vector(total)
	if cmplx.IsNaN(f) || cmplx.IsNaN(t) || cmplx.IsInf(f) || cmplx.IsInf(t) {
		return Reclocking{}, fmt.Errorf("run-out vector: %w", stat.ErrNotFinite)
	}
	w := t - f
	r := Reclocking{Before: 2 * cmplx.Abs(t), PerPosition: make([]float64, holes)}
	for k := range holes {
		turned := w * cmplx.Rect(1, 2*math.Pi*float64(k)/float64(holes))
		r.PerPosition[k] = 2 * cmplx.Abs(f+turned)
		if gum.Below(r.PerPosition[k], r.PerPosition[r.Holes]) {
			r.Holes = k
		}
	}
	r.AngleDeg = 360 * float64(r.Holes) / float64(holes)
	r.After = r.PerPosition[r.Holes]
	r.Gain = r.Before - r.After
	return r, nil
}

func vector(h analysis.Harmonic) complex128 { return cmplx.Rect(h.Amplitude, h.PhaseDeg*math.Pi/180) }

// A Following says whether the backlash goes up and down with a run-out.
type Following struct {
	Follows   bool    // half or more of the backlash's variation is the run-out's
	Explained float64 // share of the backlash's variance that a sine of the run-out's phase explains, 0 to 1
	Swing     float64 // peak-to-peak of the backlash's first harmonic, mm
	Expected  float64 // the same as the run-out should make it, mm
}

// FollowsRunout compares the backlash around the wheel with the first harmonic
// of the back face. gain is the backlash for each mm of axial movement
// (GeometricGain); offsetDeg the angle of the wheel from the indicator on the
// back face on to the mesh, 0 when both angles are counted at the mesh. The
// back face standing out means the wheel stands away from the pinion there, so
// the backlash should be high at the same place. It needs five points.
func FollowsRunout(points []analysis.RoundPoint, face analysis.Harmonic, gain, offsetDeg float64) (Following, error) {
	points = analysis.LatestPoints(points)
	if len(points) < 5 {
		return Following{}, stat.ErrTooFew
	}
	angles, values := make([]float64, len(points)), make([]float64, len(points))
	shape := make([]float64, len(points))
	high := face.PhaseDeg + offsetDeg
	for i, p := range points {
		angles[i], values[i] = p.AngleDeg, p.Value
		shape[i] = math.Cos((p.AngleDeg - high) * math.Pi / 180)
	}
	fit, err := analysis.FitHarmonics(angles, values, 1)
	if err != nil {
		return Following{}, err
	}
	line, err := stat.LinearFit(shape, values)
	if err != nil {
		return Following{}, stat.ErrNotSeparable
	}
	f := Following{Swing: 2 * fit.Harmonics[0].Amplitude, Expected: 2 * math.Abs(gain) * face.Amplitude}
	if sd := stat.StdDev(values); sd > 0 && line.Slope > 0 {
		total := sd * sd * float64(len(values)-1)
		f.Explained = math.Max(0, 1-line.ResidualSD*line.ResidualSD*float64(line.DoF)/total)
	}
	f.Follows = f.Explained >= 0.5
	return f, nil
}
