package identify

import (
	"math/bits"

	"crownlog/device"
)

// sevenBitCandidates proposes line forms for text of seven bits with parity.
func sevenBitCandidates(b []byte) (list []candidate) {
	if text, parity := sevenBits(b); parity != "" {
		list = textCandidates(text)
		for i := range list {
			list[i].profile.Serial, list[i].stream = device.Serial{DataBits: 7, Parity: parity}, text
		}
	}
	return list
}

// sevenBits tells seven-bit text with parity from eight-bit noise: all bytes
// then have the same parity, or the top bit always set. It returns the bytes
// without their top bit, and "" where they have no parity.
func sevenBits(b []byte) (text []byte, parity string) {
	tops, odd := 0, 0
	for _, c := range b {
		text = append(text, c&0x7F)
		tops += int(c >> 7)
		odd += bits.OnesCount8(c) % 2
	}
	// A wrong bit or two do no harm; of text without parity about half of the
	// bytes have an even count of ones.
	few := len(b) / 50
	switch {
	case tops == 0:
	case len(b)-tops <= few:
		return text, "mark"
	case odd <= few:
		return text, "even"
	case len(b)-odd <= few:
		return text, "odd"
	}
	return text, ""
}
