package analysis

// A faultSet is a set of faults that the live path can hold without
// allocating.
type faultSet uint16

// faultOrder lists the faults, causes before consequences.
var faultOrder = [...]Fault{
	UnitFlip, ZeroShift, PinionSlip, BaseCreep, OffGear, EndFloat,
	EndOfTravel, Frozen, Gaps, NoDwell, TooFewRocks,
}

func faultBit(f Fault) faultSet {
	for i, g := range faultOrder {
		if f == g {
			return 1 << i
		}
	}
	return 0
}

func (s faultSet) has(f Fault) bool { return s&faultBit(f) != 0 }

func (s *faultSet) add(f Fault) { *s |= faultBit(f) }

func (s faultSet) list() []Fault {
	var l []Fault
	for i, f := range faultOrder {
		if s&(1<<i) != 0 {
			l = append(l, f)
		}
	}
	return l
}
