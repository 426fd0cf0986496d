package identify

import (
	"math/bits"
	"slices"

	"crownlog/device"
)

// sevenBits tells seven-bit text with parity from eight-bit noise: all bytes
// then have the same parity, or the top bit always set. It returns the bytes
// without their top bit and the serial setting that explains it.
func sevenBits(b []byte) ([]byte, device.Serial, bool) {
	if !slices.ContainsFunc(b, func(c byte) bool { return c >= 0x80 }) {
		return nil, device.Serial{}, false
	}
	even, odd, mark := 0, 0, 0
	for _, c := range b {
		if bits.OnesCount8(c)%2 == 0 {
			even++
		} else {
			odd++
		}
		if c >= 0x80 {
			mark++
		}
	}
	s := device.Serial{DataBits: 7}
	// A wrong bit or two do no harm; of text without parity about half of the
	// bytes have an even count of ones.
	most := 0.98 * float64(len(b))
	switch {
	case float64(mark) >= most:
		s.Parity = "mark"
	case float64(even) >= most:
		s.Parity = "even"
	case float64(odd) >= most:
		s.Parity = "odd"
	default:
		return nil, device.Serial{}, false
	}
	text := make([]byte, len(b))
	for i, c := range b {
		text[i] = c & 0x7F
	}
	return text, s, true
}
