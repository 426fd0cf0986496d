package identify_test

// Invented gauges for the tests of identify. Nothing here is shared with the
// decoders: checksums are worked out bit by bit, numbers are printed by fmt.

import (
	"math"
	"math/rand"
)

// An invented stream: what a gauge sent, and what it showed.
type invented struct {
	name      string
	bytes     []byte
	values    []float64 // as the display showed them
	unit      string    // sent, as a Reading carries it; "": none, or not in a form to be seen
	binary    bool      // decimal point and unit cannot be seen: right up to a power of ten
	registers [][]byte  // of a Modbus device, at each answer
	open      bool      // nothing in the bytes tells which number is measured: only "can't tell" is right
}

// A motion is what the plunger, the wrench or the air does, in counts.
type motion struct {
	name   string
	counts func(r *rand.Rand, n int) []int
}

// rocked goes between two stops, rests there, and has a count of noise.
func rocked(low, high int) func(r *rand.Rand, n int) []int {
	return func(r *rand.Rand, n int) []int {
		list := make([]int, n)
		for i := range list {
			p := float64(i%36) / 36
			x := math.Max(0, math.Min(1, 0.5+1.1*math.Sin(2*math.Pi*p)))
			list[i] = low + int(math.Round(x*float64(high-low)+0.7*r.NormFloat64()))
		}
		return list
	}
}

func swung(size float64, period float64) func(r *rand.Rand, n int) []int {
	return func(r *rand.Rand, n int) []int {
		list := make([]int, n)
		for i := range list {
			list[i] = int(math.Round(size*math.Sin(float64(i)/period) + 0.7*r.NormFloat64()))
		}
		return list
	}
}

// pulled rises to a peak and falls back, as a wrench does, a bolt after the other.
func pulled(peak int) func(r *rand.Rand, n int) []int {
	return func(r *rand.Rand, n int) []int {
		list := make([]int, n)
		for i := range list {
			x := float64(i%30) / 20
			if x > 1 {
				x = math.Max(0, 1-(x-1)*4)
			}
			list[i] = int(x*float64(peak)) + r.Intn(3)
		}
		return list
	}
}

// leaked falls slowly from a start.
func leaked(start int, fall float64) func(r *rand.Rand, n int) []int {
	return func(r *rand.Rand, n int) []int {
		list := make([]int, n)
		for i := range list {
			list[i] = start - int(fall*float64(i)) + r.Intn(3)
		}
		return list
	}
}

var (
	rock     = motion{"rock", rocked(6, 158)}
	rockHigh = motion{"rock from 5.2", rocked(5203, 5391)}
	swing    = motion{"swing", swung(300, 9)}
	wide     = motion{"wide", swung(4200, 13)}
	torque   = motion{"torque", pulled(1034)}
	pressure = motion{"pressure", leaked(10240, 0.9)}
	millions = motion{"swing of 0.1 µm", swung(61000, 11)}
)
