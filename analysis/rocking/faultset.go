package rocking

import "crownlog/analysis"

// A faultSet is a set of faults that the live path can hold without
// allocating.
type faultSet uint16

// faultOrder lists the faults as they are told, causes before consequences.
var faultOrder = [...]analysis.Fault{
	analysis.UnitFlip, analysis.ZeroShift, analysis.PinionSlip, analysis.BaseCreep, analysis.OffGear, analysis.EndFloat,
	analysis.EndOfTravel, analysis.Frozen, analysis.Gaps, analysis.NoDwell, analysis.TooFewRocks,
}

func faultBit(f analysis.Fault) faultSet {
	for i, g := range faultOrder {
		if f == g {
			return 1 << i
		}
	}
	return 0
}

func (s faultSet) has(f analysis.Fault) bool { return s&faultBit(f) != 0 }

func (s *faultSet) add(f analysis.Fault) { *s |= faultBit(f) }

func (s faultSet) list() []analysis.Fault {
	var l []analysis.Fault
	for i, f := range faultOrder {
		if s&(1<<i) != 0 {
			l = append(l, f)
		}
	}
	return l
}
