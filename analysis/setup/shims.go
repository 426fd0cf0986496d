package setup

import "math"

// A Box is the shims there are, and what stands on either side of the wheel.
type Box struct {
	Sizes     []float64 // mm, each as often as wanted
	Near, Far float64   // mm on the crown-wheel side and on the far side; not above 0: unknown
}

// A Stack is the shims of one side.
type Stack struct {
	Sizes   []float64 // mm, the thickest first
	MM, Was float64   // what they measure together, and what stood there before
}

// Stacks are those of both sides.
type Stacks struct{ Near, Far Stack }

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
func (b Box) Stacks(shift float64) (Stacks, bool) {
	near, far := micrometres(b.Near), micrometres(b.Far)
	wantNear, wantFar := near+micrometres(shift), far-micrometres(shift)
	count, last := b.sums(max(wantNear, wantFar) + stackReach)
	var s Stacks
	best, fewest := math.MaxInt, 0
	for n := max(1, wantNear-stackReach); n <= wantNear+stackReach; n++ {
		for f := max(1, wantFar-stackReach); f <= wantFar+stackReach; f++ {
			if count[n] > mostShims || count[f] > mostShims {
				continue
			}
			thicker, miss := n+f-near-far, n-f-(wantNear-wantFar)
			if cost := 16*thicker*thicker + miss*miss; cost < best || cost == best && count[n]+count[f] < fewest {
				best, fewest = cost, count[n]+count[f]
				s = Stacks{Near: Stack{MM: float64(n) / 1000, Was: b.Near}, Far: Stack{MM: float64(f) / 1000, Was: b.Far}}
			}
		}
	}
	for _, side := range []*Stack{&s.Near, &s.Far} {
		for rest := micrometres(side.MM); rest > 0; rest -= last[rest] {
			side.Sizes = append(side.Sizes, float64(last[rest])/1000)
		}
	}
	return s, best < math.MaxInt
}

// sums tells for each thickness up to top µm how few shims make it, more than
// mostShims where none do, and the thickest of them.
func (b Box) sums(top int) (count, last []int) {
	count, last = make([]int, top+1), make([]int, top+1)
	for sum := 1; sum <= top; sum++ {
		count[sum] = mostShims + 1
		for _, mm := range b.Sizes {
			size := micrometres(mm)
			if size <= 0 || size > sum {
				continue
			}
			if n := count[sum-size] + 1; n < count[sum] || n == count[sum] && size > last[sum] {
				count[sum], last[sum] = n, size
			}
		}
	}
	return count, last
}

// Shift is how far the stacks move the wheel towards the pinion, mm.
func (s Stacks) Shift() float64 {
	return float64(micrometres(s.Near.MM-s.Near.Was)-micrometres(s.Far.MM-s.Far.Was)) / 2000
}

func micrometres(mm float64) int { return int(math.Round(1000 * mm)) }
