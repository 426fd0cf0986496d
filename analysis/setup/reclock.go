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
	Before      float64 // FIM now, of the harmonics given
	After       float64 // FIM predicted, of the same
	Gain        float64 // Before less After
	PerPosition []float64
}

// Reclock finds the bolt hole that gives the least combined run-out. flange has
// the bare flange's harmonics, once around, then twice where it is known, and
// total those of the wheel bolted to it, at the same angles of the carrier, in any
// one unit. The wheel's own vectors are W = total - flange; turned by k holes they
// give
//
//	total(k) = flange + W·e^(i·order·2πk/holes)
//
// and together the FIM. What comes twice a turn is the wheel's where the flange's
// is not known. PerPosition is the FIM predicted for each k. holes must be at
// least 2.
// Source: vector addition; own derivation.
func Reclock(flange, total []analysis.Harmonic, holes int) (Reclocking, error) {
	if holes < 2 {
		return Reclocking{}, fmt.Errorf("%d bolt holes are too few to turn the wheel by", holes)
	}
	r := Reclocking{PerPosition: make([]float64, holes)}
	for k := range holes {
		var turned []complex128
		for i := range total {
			order, f := float64(i+1), complex(0, 0)
			if i < len(flange) {
				f = vector(flange[i], order)
			}
			turned = append(turned, f+(vector(total[i], order)-f)*cmplx.Rect(1, order*2*math.Pi*float64(k)/float64(holes)))
		}
		if r.PerPosition[k] = movement(turned); !stat.Finite(r.PerPosition[k]) {
			return Reclocking{}, fmt.Errorf("run-out vector: %w", stat.ErrNotFinite)
		}
		if gum.Below(r.PerPosition[k], r.PerPosition[r.Holes]) {
			r.Holes = k
		}
	}
	r.AngleDeg = 360 * float64(r.Holes) / float64(holes)
	r.Before, r.After = r.PerPosition[0], r.PerPosition[r.Holes]
	r.Gain = r.Before - r.After
	return r, nil
}

func vector(h analysis.Harmonic, order float64) complex128 {
	return cmplx.Rect(h.Amplitude, order*h.PhaseDeg*math.Pi/180)
}

// movement is the FIM of harmonics by their vectors, once around first.
func movement(v []complex128) float64 {
	if len(v) == 1 {
		return 2 * cmplx.Abs(v[0])
	}
	low, high := math.Inf(1), math.Inf(-1)
	for deg := range 720 { // half degrees: a millionth of the movement
		height := 0.0
		for i, h := range v {
			height += real(h * cmplx.Rect(1, -float64(i+1)*float64(deg)*math.Pi/360))
		}
		low, high = math.Min(low, height), math.Max(high, height)
	}
	return high - low
}

// A Following says whether the backlash goes up and down with a run-out.
type Following struct {
	Follows   bool    // half or more of the backlash's variation is the run-out's
	Against   bool    // high where the back face reads low: so it is with an indicator that counts down when pushed in
	Explained float64 // share of the backlash's variance that a sine of the run-out's phase explains, 0 to 1
	Swing     float64 // peak-to-peak of the backlash's first harmonic, mm
	Expected  float64 // the same as the run-out should make it, mm
}

// FollowsRunout compares the backlash around the wheel with the first harmonic
// of the back face. gain is the backlash for each mm of axial movement
// (GeometricGain); offsetDeg the angle of the wheel from the indicator on the
// back face on to the mesh, 0 when both angles are counted at the mesh. The
// back face standing out means the wheel stands away from the pinion there, so
// the backlash should be high at the same place; with an indicator that counts
// down when its plunger is pushed in, at the opposite one. It needs five points.
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
	f.Against = line.Slope < 0
	if sd := stat.StdDev(values); sd > 0 {
		total := sd * sd * float64(len(values)-1)
		f.Explained = math.Max(0, 1-line.ResidualSD*line.ResidualSD*float64(line.DoF)/total)
	}
	f.Follows = f.Explained >= 0.5
	return f, nil
}
