package frame

import (
	"bytes"
	"cmp"
	"encoding/binary"
	"fmt"
	"maps"
	"math/bits"
	"slices"
	"strconv"
	"strings"
)

// A Checksum is one way to protect a frame.
type Checksum struct {
	Size int                   // bytes in the frame, 1 to 4; 0: there is none
	Of   func(b []byte) uint32 // the checksum of the bytes
}

// crcForm is how the public catalogue writes a CRC: by the parameters of the model
// of R. N. Williams, A painless guide to CRC error detection algorithms, 1993.
const crcForm = "width=%d poly=%v init=%v refin=%t refout=%t xorout=%v"

// crcs are the CRCs that a profile can name. "crc16-ccitt" has several meanings in
// the trade; here it is the one that starts at FFFF (CRC-16/IBM-3740), and the
// others have their own names.
// Source: catalogue of parametrised CRC algorithms.
var crcs = map[string]string{
	"crc8":          "width=8 poly=0x07 init=0x00 refin=false refout=false xorout=0x00",
	"crc16-modbus":  "width=16 poly=0x8005 init=0xffff refin=true refout=true xorout=0x0000",
	"crc16-ccitt":   "width=16 poly=0x1021 init=0xffff refin=false refout=false xorout=0x0000",
	"crc16-xmodem":  "width=16 poly=0x1021 init=0x0000 refin=false refout=false xorout=0x0000",
	"crc16-kermit":  "width=16 poly=0x1021 init=0x0000 refin=true refout=true xorout=0x0000",
	"crc16-arc":     "width=16 poly=0x8005 init=0x0000 refin=true refout=true xorout=0x0000",
	"crc16-aug":     "width=16 poly=0x1021 init=0x1d0f refin=false refout=false xorout=0x0000",
	"crc16-genibus": "width=16 poly=0x1021 init=0xffff refin=false refout=false xorout=0xffff",
	"crc32":         "width=32 poly=0x04c11db7 init=0xffffffff refin=true refout=true xorout=0xffffffff",
}

// folds are the other checksums: what an operation makes of all bytes, one after
// the other. lrc is the two's complement of the sum; all are of one byte but sum16.
// Source: Modbus over Serial Line V1.02, 6.2.1 (LRC).
var folds = map[string]func(sum, c uint32) uint32{
	"sum8":  func(sum, c uint32) uint32 { return (sum + c) & 0xFF },
	"sum16": func(sum, c uint32) uint32 { return (sum + c) & 0xFFFF },
	"xor8":  func(sum, c uint32) uint32 { return sum ^ c },
	"lrc":   func(sum, c uint32) uint32 { return (sum - c) & 0xFF },
}

// ChecksumList names the checksums that a profile may give, for a message. A CRC
// without a name is given by the line of the public catalogue.
var ChecksumList = "none, " + strings.Join(slices.Sorted(maps.Keys(folds)), ", ") + ", " +
	strings.Join(slices.Sorted(maps.Keys(crcs)), ", ") + ", or a CRC like " + crcs["crc16-modbus"]

// ChecksumNamed returns the checksum that a profile calls name, or of the CRC
// whose parameters it gives in the form of the catalogue, with a width of 8, 16,
// 24 or 32 bits. That of "none" or "" has size 0.
func ChecksumNamed(name string) (Checksum, bool) {
	if name == "" || name == "none" {
		return Checksum{0, func([]byte) uint32 { return 0 }}, true
	}
	if next := folds[name]; next != nil {
		return Checksum{1 + strings.Count(name, "16"), func(b []byte) (sum uint32) {
			for _, c := range b {
				sum = next(sum, uint32(c))
			}
			return sum
		}}, true
	}
	var width int
	var poly, start, xor uint32
	var refin, refout bool
	_, err := fmt.Sscanf(cmp.Or(crcs[name], name), crcForm, &width, &poly, &start, &refin, &refout, &xor)
	if err != nil || width < 8 || width > 32 || width%8 != 0 || uint64(poly|start|xor)>>width != 0 {
		return Checksum{}, false
	}
	return Checksum{width / 8, func(b []byte) uint32 { // worked in the upper bits of 32
		up := 32 - width
		sum := start << up
		for _, c := range b {
			if refin {
				c = bits.Reverse8(c)
			}
			sum ^= uint32(c) << 24
			for range 8 {
				sum = sum<<1 ^ sum>>31*(poly<<up)
			}
		}
		if sum >>= up; refout {
			sum = bits.Reverse32(sum) >> up
		}
		return sum ^ xor
	}}, true
}

// Append returns b with its checksum behind it, low byte first.
func (c Checksum) Append(b []byte) []byte {
	var own [4]byte
	binary.LittleEndian.PutUint32(own[:], c.Of(b))
	return append(b, own[:c.Size]...)
}

// Right reports whether the checksum at frame[at] is that of frame[from:at]. Of
// its bytes the low one is first, or with big the high one.
func (c Checksum) Right(frame []byte, from, at int, big bool) bool {
	var own [4]byte
	binary.LittleEndian.PutUint32(own[:], c.Of(frame[from:at]))
	if big {
		slices.Reverse(own[:c.Size])
	}
	return bytes.HasPrefix(frame[at:], own[:c.Size])
}

// Body returns a line of text without the checksum that it ends with, in hex
// digits and with or without a star before them, and whether that is the one of
// its bytes from the one given on. Of size 0 there is none, and it is right.
func (c Checksum) Body(line []byte, from int) ([]byte, bool) {
	at := len(line) - 2*c.Size
	if c.Size == 0 || at <= from {
		return line, c.Size == 0
	}
	sent, err := strconv.ParseUint(string(line[at:]), 16, 32)
	body := bytes.TrimSuffix(line[:at], []byte("*"))
	return trim(body), err == nil && c.Of(body[from:]) == uint32(sent)
}
