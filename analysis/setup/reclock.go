package setup

import (
	"fmt"
	"math"

	gonum "gonum.org/v1/gonum/stat"

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
// one unit. The wheel's own share is total less flange; turned on by φ it gives
//
//	total(θ, φ) = flange(θ) + total(θ-φ) - flange(θ-φ)
//
// What comes twice a turn is the wheel's where the flange's is not known.
// PerPosition is the FIM predicted for each hole. holes must be at least 2.
// Source: superposition; own derivation.
func Reclock(flange, total []analysis.Harmonic, holes int) (Reclocking, error) {
	if holes < 2 {
		return Reclocking{}, fmt.Errorf("%d bolt holes are too few to turn the wheel by", holes)
	}
	bare, bolted := surfaceOf(flange), surfaceOf(total)
	r := Reclocking{PerPosition: make([]float64, holes)}
	for k := range holes {
		on := 360 * float64(k) / float64(holes)
		low, high := math.Inf(1), math.Inf(-1)
		for half := range 720 { // half degrees: a hundred-thousandth of the movement
			deg := float64(half) / 2
			v := bare.At(deg) + bolted.At(deg-on) - bare.At(deg-on)
			low, high = math.Min(low, v), math.Max(high, v)
		}
		if r.PerPosition[k] = high - low; !stat.Finite(high - low) {
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

// surfaceOf is the surface of harmonics, once around first.
func surfaceOf(h []analysis.Harmonic) analysis.HarmonicFit {
	return analysis.HarmonicFit{Orders: []int{1, 2}[:len(h)], Harmonics: h}
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
	alike := gonum.Correlation(shape, values, nil)
	f := Following{Swing: fit.Harmonics[0].Movement(), Expected: math.Abs(gain) * face.Movement(), Against: alike < 0}
	f.Explained = stat.Square(alike) // 0 where all values are the same
	f.Follows = f.Explained >= 0.5
	return f, nil
}
