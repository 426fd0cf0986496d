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
	for _, parity := range []struct {
		name  string
		wrong func(c byte) bool
	}{
		{"mark", func(c byte) bool { return c < 0x80 }},
		{"even", func(c byte) bool { return bits.OnesCount8(c)%2 == 1 }},
		{"odd", func(c byte) bool { return bits.OnesCount8(c)%2 == 0 }},
	} {
		wrong := 0
		text := make([]byte, len(b))
		for i, c := range b {
			text[i] = c & 0x7F
			if parity.wrong(c) {
				wrong++
			}
		}
		// A wrong bit or two do no harm; of text without parity about half of the
		// bytes have an even count of ones.
		if float64(wrong) <= 0.02*float64(len(b)) {
			return text, device.Serial{DataBits: 7, Parity: parity.name}, true
		}
	}
	return nil, device.Serial{}, false
}
