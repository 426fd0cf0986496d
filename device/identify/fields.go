package identify

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// A field is one reading of some bytes of binary frames as a number.
type field struct {
	at, size    int
	kind, order string      // as frame.Number has them
	sign        *frame.Bits // of a magnitude, elsewhere
	mask        byte        // of the sign
	values      []float64   // of each frame
	counts      []float64   // the same in least steps
	evidence    float64     // bits that it saves, and how far it moved
	most        float64     // as a candidate's
}

// read reads the bytes of all frames; false where one cannot be read so, or the
// value never moves. free is what each byte of the frames takes by itself.
func (f *field) read(frames [][]byte, free []float64) bool {
	inside := f.sign != nil && f.sign.At >= f.at && f.sign.At < f.at+f.size
	for _, b := range frames {
		minus := f.sign != nil && b[f.sign.At]&f.mask != 0
		if b = slices.Clone(b); minus && inside { // it is no part of the magnitude
			b[f.sign.At] &^= f.mask
		}
		v, ok := frame.Number(f.kind, f.order, b[f.at:f.at+f.size])
		if !ok || f.kind == "float" && v != 0 && !(math.Abs(v) >= 1e-7 && math.Abs(v) <= 1e7) { // no gauge shows less or more
			return false
		}
		if minus {
			v = -v
		}
		f.values = append(f.values, v)
	}
	if next := f.at + f.size; f.kind == "bcd" && next < len(free) && !slices.ContainsFunc(frames, func(b []byte) bool { return b[next]>>4 > 9 || b[next]&0xF < 10 }) {
		return false // its last digit stands before its sign, as in 01 23 4D
	}
	low, high := slices.Min(f.values), slices.Max(f.values)
	if f.counts = f.values; f.kind == "float" {
		f.counts = inSteps(f.values, f.size)
	}
	f.evidence = movedBits(f.counts) - seriesBits(f.counts)
	if f.size == 1 || min(math.Abs(low), math.Abs(high)) > 256*(high-low) {
		f.evidence -= 12 // rather with a state in front of it, or without its other bytes
	}
	for _, bits := range free[f.at : f.at+f.size] {
		f.evidence += bits
	}
	if f.sign != nil && !inside { // the bit needs no other explanation
		f.evidence += free[f.sign.At] - columnBits(frames, f.sign.At, ^f.mask)
	}
	return low < high
}

// columnBits returns the bits of one byte of the frames that is part of no value.
func columnBits(frames [][]byte, at int, mask byte) float64 {
	counts := make([]float64, len(frames))
	for i, f := range frames {
		counts[i] = float64(f[at] & mask)
	}
	return min(seriesBits(counts), 8*float64(len(frames)))
}

// inSteps turns floats into counts of the last decimal that one of them shows,
// or of what the type can tell apart; of eighths into eighths.
func inSteps(values []float64, size int) []float64 {
	precision := map[int]int{4: 24, 8: 53}[size]
	decimals, largest, common := 0, 0.0, 0.0
	for _, v := range values {
		_, after, _ := strings.Cut(strconv.FormatFloat(v, 'f', -1, 64), ".")
		decimals, largest = max(decimals, len(after)), max(largest, math.Abs(v))
	}
	step := max(math.Pow10(-decimals), math.Ldexp(largest, -precision))
	out := make([]float64, len(values))
	for i, v := range values {
		out[i] = math.Round(v / step)
		for a := math.Abs(out[i]); a > 0; {
			common, a = a, math.Mod(common, a)
		}
	}
	for i := range out {
		out[i] /= max(common, 1)
	}
	return out
}

// The fields proposed of one layout, and those that are tried with a sign
// elsewhere: the best without it, for a magnitude is smooth too.
const mostFields, mostSigned = 4, 24

// rank reads the bytes from first to last of the frames in every kind and order,
// and returns the best fields: those that save the most bits, and so explain the
// most bytes, and moved the furthest. Of those that read the same values the
// widest is kept: a high byte that is 0 all the while will not stay so.
func rank(frames [][]byte, first, last, step int, kinds, orders []string) (best []field) {
	free := make([]float64, last)
	for c := first; c < last; c++ {
		free[c] = columnBits(frames, c, 0xFF)
	}
	var list []field
	add := func(f field) {
		if f.read(frames, free) && !clockwork(f.counts) {
			list = append(list, f)
		}
	}
	sort := func() {
		slices.SortStableFunc(list, func(a, b field) int {
			if slices.Equal(a.values, b.values) && math.Abs(a.evidence-b.evidence) < 1 {
				return b.size - a.size
			}
			return cmp.Compare(b.evidence, a.evidence)
		})
	}
	for _, size := range []int{1, 2, 3, 4, 8} {
		for at := first; at+size <= last && size%step == 0; at += step {
			for _, order := range orders[:min(size, len(orders))] {
				for _, kind := range kinds {
					if kind != "float" || size >= 4 {
						add(field{at: at, size: size, kind: kind, order: order})
					}
				}
			}
		}
	}
	sort()
	magnitudes := slices.DeleteFunc(slices.Clone(list), func(f field) bool { return f.kind == "int" || f.kind == "float" })
	for _, f := range magnitudes[:min(mostSigned, len(magnitudes))] {
		top := f.at // in the value itself its top bit alone can be the sign
		if f.order == "little" {
			top += f.size - 1
		}
		for bit := range 8 * (last - first) {
			at, mask := first+bit/8, byte(1)<<(bit%8)
			if at < f.at || at >= f.at+f.size || at == top && mask == 0x80 {
				add(field{at: f.at, size: f.size, kind: f.kind, order: f.order, mask: mask, sign: &frame.Bits{At: at, Mask: fmt.Sprintf("%02X", mask)}})
			}
		}
	}
	sort()
	for _, f := range list {
		if !slices.ContainsFunc(best, func(o field) bool { return slices.Equal(o.values, f.values) }) && len(best) < mostFields {
			f.most = f.ahead(list)
			best = append(best, f)
		}
	}
	return best
}

// ahead returns how many bits further the field moved than a number elsewhere in the
// frame, which says which of the two is the value: bits saved do not, where each has
// bytes of its own. Of one that hardly moved the bytes beside it, which stood still,
// may be part.
func (f field) ahead(list []field) float64 {
	moved, most := movedBits(f.counts), 1+movedBits(f.counts)
	taken := []field{f}
	for _, o := range list {
		if slices.ContainsFunc(taken, func(t field) bool { return o.at < t.at+t.size && t.at < o.at+o.size }) {
			continue
		}
		if taken = append(taken, o); o.size > 1 && o.evidence >= movedBits(o.counts) {
			most = min(most, moved-movedBits(o.counts))
		}
	}
	return most
}

// candidate makes a candidate of a field and its profile, with what cannot be seen
// of it.
func (f field) candidate(p device.Profile, unseen string) candidate {
	return candidate{profile: p, evidence: f.evidence, values: f.values, most: f.most, notes: []string{unseen}}
}
