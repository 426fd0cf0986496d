package identify

import (
	"math/bits"

	"crownlog/device"
)

// sevenBits tells seven-bit text with parity from eight-bit noise: all bytes
// then have the same parity, or the top bit always set. It returns the bytes
// without their top bit and the serial setting that explains it.
func sevenBits(b []byte) ([]byte, device.Serial, bool) {
	text := make([]byte, len(b))
	tops, odd := 0, 0
	for i, c := range b {
		text[i] = c & 0x7F
		tops += int(c >> 7)
		odd += bits.OnesCount8(c) % 2
	}
	// A wrong bit or two do no harm; of text without parity about half of the
	// bytes have an even count of ones.
	few := len(b) / 50
	for _, p := range []struct {
		name  string
		wrong int
	}{{"mark", len(b) - tops}, {"even", odd}, {"odd", len(b) - odd}} {
		if tops > 0 && p.wrong <= few {
			return text, device.Serial{DataBits: 7, Parity: p.name}, true
		}
	}
	return nil, device.Serial{}, false
}
