package setup

import "math"

// A Box is the shims there are, and what stands on either side of the wheel.
type Box struct {
	Sizes     []float64 // mm, each as often as wanted
	Near, Far float64   // mm on the crown-wheel side and on the far side; not above 0: unknown
}

// A Side is what a move does on one side of the wheel.
type Side struct {
	By    float64   // in by so many notches or mm of shim, - is out
	MM    float64   // what its stack of shim measures then; 0: unknown
	Sizes []float64 // and is made of, mm, the thickest first
}

// A stack is of so many shims at most, and is looked for so far from the
// thickness that is wanted. Common practice, no source.
const (
	mostShims  = 4
	stackReach = 100 // µm
)

// Known reports whether stacks can be made out of the box.
func (b Box) Known() bool { return len(b.Sizes) > 0 && b.Near > 0 && b.Far > 0 }

// Stacks finds the stacks that move the wheel by shift mm from the far side
// towards the pinion. Both together keep their thickness first, which is the
// preload, and come as near to the shift as they can then. It is false where the
// box has no stack near one of them.
func (b Box) Stacks(shift float64) (near, far Side, ok bool) {
	atNear, atFar := micrometres(b.Near), micrometres(b.Far)
	by := micrometres(shift)
	count, last := b.sums(max(atNear+by, atFar-by) + stackReach)
	best, fewest := math.MaxInt, 0
	for n := max(1, atNear+by-stackReach); n <= atNear+by+stackReach; n++ {
		for f := max(1, atFar-by-stackReach); f <= atFar-by+stackReach && count[n] <= mostShims; f++ {
			thicker, miss := n+f-atNear-atFar, n-f-(atNear-atFar)-2*by
			cost := 16*thicker*thicker + miss*miss
			if count[f] <= mostShims && (cost < best || cost == best && count[n]+count[f] < fewest) {
				best, fewest = cost, count[n]+count[f]
				near, far = stackOf(n, atNear, last), stackOf(f, atFar, last)
			}
		}
	}
	return near, far, best < math.MaxInt
}

// stackOf is the stack of so many µm in place of another.
func stackOf(thick, before int, last []int) Side {
	s := Side{By: float64(thick-before) / 1000, MM: float64(thick) / 1000}
	for rest := thick; rest > 0; rest -= last[rest] {
		s.Sizes = append(s.Sizes, float64(last[rest])/1000)
	}
	return s
}

// sums tells for each thickness up to top µm how few shims make it, more than
// mostShims where none do, and the thickest of them.
func (b Box) sums(top int) (count, last []int) {
	count, last = make([]int, top+1), make([]int, top+1)
	for sum := 1; sum <= top; sum++ {
		count[sum] = mostShims + 1
		for _, mm := range b.Sizes {
			if size := micrometres(mm); size > 0 && size <= sum {
				n := count[sum-size] + 1
				if n < count[sum] || n == count[sum] && size > last[sum] {
					count[sum], last[sum] = n, size
				}
			}
		}
	}
	return count, last
}

func micrometres(mm float64) int { return int(math.Round(1000 * mm)) }
