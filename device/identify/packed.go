package identify

import (
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"crownlog/device"
	"crownlog/device/frame"
)

// How a packed layout is searched: a window of frames in a row must all have
// the same first byte and a right checksum, and not all be alike.
const (
	// A header, two bytes of value and a sum; and as much as a value with its
	// state, counter and CRC takes in the protocols of the trade.
	shortestPacked = 4
	longestPacked  = 24
	// windowFrames with a right sum of one byte each come by chance once in
	// 256^12 places, however many layouts are tried on them.
	windowFrames = 12
	// leastDifferent frames of a window: of a gauge that stands still every
	// byte is fixed, and any constant would do for a checksum.
	leastDifferent = 3
)

// packedCandidates finds fixed-length frames by header and checksum, and in
// them the value:
//
//	AA 55 | 00 01 23 | 07 | 2A      length 7: every seventh byte is AA
//	AA 55 | 00 01 25 | 08 | 2D      the last is right in all frames: the sum
//	AA 55 | 00 01 26 | 09 | 2F      this one counts; that one moves smoothly
//
// Where the decimal point stands and what the unit is cannot be seen in such a
// frame. Lines of text are none.
func packedCandidates(b []byte) []candidate {
	for length := shortestPacked; length <= longestPacked && textShare(b) <= mostText; length++ {
		// One damaged frame spoils a window, so three places are tried.
		for _, at := range []int{0, len(b) / 4, len(b) / 2} {
			if l := layoutOf(b[at:], length); l != nil {
				if list := l.values(b); len(list) > 0 {
					return list // longer ones are several of these
				}
			}
		}
	}
	return nil
}

// mostText is the share of printable bytes above which a stream is text: of a
// binary frame a byte of three is by chance.
const mostText = 0.85

func textShare(b []byte) float64 {
	text := 0
	for _, c := range b {
		if c >= ' ' && c < 0x7F || c == '\r' || c == '\n' || c == '\t' {
			text++
		}
	}
	return float64(text) / float64(max(len(b), 1))
}

// A layout is a packed frame whose value is not known yet.
type layout struct {
	frame.Packed
	header, sumAt int // where the one ends and the checksum begins
}

// mostPacked bounds the frames that are looked at for the value, and with them
// the time that the search takes: each is read in some hundred ways.
const mostPacked = 200

// values makes a candidate of each field of the frames that may be the value.
func (l *layout) values(b []byte) (list []candidate) {
	p := l.Packed
	p.At, p.Size, p.Type = l.header, 1, "uint" // a byte behind the header fits any layout
	dec, _ := p.NewDecoder()
	var frames [][]byte
	dec.Feed(time.Time{}, b, func(f *frame.Frame) {
		if f.Bad == "" && len(frames) < mostPacked {
			frames = append(frames, slices.Clone(f.Raw))
		}
	})
	if len(frames) < leastFrames {
		return nil
	}
	for _, f := range rank(frames, l.header, l.sumAt, 1, []string{"bcd", "bcd low-first", "int", "uint", "float"}, []string{"big", "little"}) {
		own := l.Packed
		own.At, own.Size, own.Order, own.Sign = f.at, f.size, f.order, f.sign
		own.Type, own.Nibbles, _ = strings.Cut(f.kind, " ")
		list = append(list, f.candidate(device.Profile{Name: fmt.Sprintf("heard-packed-%d", own.Length), Frame: device.FramePacked, Packed: &own,
			Title: "binary frames, found by listening; set decimals and unit by the display"},
			"the decimal point and the unit cannot be seen in such frames: set decimals and unit by the display"))
	}
	return list
}

// layoutOf looks for header and checksum of frames with the length. Seen from its
// second byte on, a frame may be one too, with the first as its end: the one with
// the longer header is taken, and before one with an end.
func layoutOf(b []byte, length int) (best *layout) {
	for phase := 0; phase < length && phase+windowFrames*length <= len(b); phase++ {
		l := layoutOfAll(slices.Collect(slices.Chunk(b[phase:phase+windowFrames*length], length)))
		if l != nil && (best == nil || l.header > best.header || l.header == best.header && l.Trailer == "" && best.Trailer != "") {
			best = l
		}
	}
	return best
}

// A check is a checksum that is tried.
type check struct {
	name string
	frame.Checksum
}

// checks lists the checksums, the commonest first: those with a name, and CRCs of
// the usual polynomials that start from and end with all ones or none.
var checks = sync.OnceValue(func() (list []check) {
	names := strings.Fields("crc32 crc16-modbus crc16-ccitt crc16-xmodem crc16-kermit crc16-arc crc16-aug crc16-genibus sum8 sum16 xor8 lrc crc8")
	for i := range 8 {
		for _, of := range []struct{ width, ones, poly int }{{8, 0xFF, 0x07}, {8, 0xFF, 0x31}, {8, 0xFF, 0x1D}, {16, 0xFFFF, 0x8005}, {16, 0xFFFF, 0x1021}} {
			mirrored := i&1 == 1
			names = append(names, fmt.Sprintf("width=%d poly=%#x init=%#x refin=%t refout=%t xorout=%#x",
				of.width, of.poly, of.ones*(i>>1&1), mirrored, mirrored, of.ones*(i>>2)))
		}
	}
	for _, name := range names {
		sum, _ := frame.ChecksumNamed(name)
		list = append(list, check{name, sum})
	}
	return list
})

// layoutOfAll finds the checksum that is right in all frames, at the end or before
// one fixed last byte, nil where none is or where they are too much alike.
//
// The header is of one byte, or two where the second is fixed too. A value that
// happens not to move in its high byte must not become header, so a second byte of
// 00 or FF is none, and only a pair that is made to be found counts: AA 55, A5 11,
// the first above 7F and the second of two equal halves.
func layoutOfAll(frames [][]byte) *layout {
	first, length, seen := frames[0], len(frames[0]), map[string]bool{}
	for _, f := range frames {
		seen[string(f)] = true
	}
	fixed := func(c int) bool {
		return !slices.ContainsFunc(frames, func(f []byte) bool { return f[c] != first[c] })
	}
	if !fixed(0) || len(seen) < leastDifferent {
		return nil
	}
	pair := fixed(1) && first[1] != 0 && first[1] != 0xFF && first[0] >= 0x80 && first[1]&0x0F == first[1]>>4
	for end := 0; end == 0 || end == 1 && fixed(length-1); end++ {
		for _, c := range checks() {
			l := layout{header: 1, sumAt: length - end - c.Size}
			if pair && l.sumAt > 3 {
				l.header = 2
			}
			if l.sumAt <= l.header || fixed(l.sumAt) && fixed(l.sumAt+c.Size-1) {
				continue // a sum of frames that differ differs
			}
			for i := range 6 { // many sums leave out the header
				from, big := i/2, i%2 == 1
				if from <= l.header && !slices.ContainsFunc(frames, func(f []byte) bool { return !c.Right(f, from, l.sumAt, big) }) {
					l.Packed = frame.Packed{Length: length, Header: fmt.Sprintf("% X", first[:l.header]), Trailer: fmt.Sprintf("%X", first[length-end:]),
						Checksum: c.name, SumOrder: []string{"little", "big"}[i%2], From: from}
					return &l
				}
			}
		}
	}
	return nil
}
