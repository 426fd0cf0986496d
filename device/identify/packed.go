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
	if textShare(b) > mostText {
		return nil
	}
	for length := shortestPacked; length <= longestPacked; length++ {
		// One damaged frame spoils a window, so three places are tried.
		for _, at := range []int{0, len(b) / 4, len(b) / 2} {
			p, ok := packedLayout(b[at:], length)
			if !ok {
				continue
			}
			if list := packedValues(p, soundPacked(p, b)); len(list) > 0 {
				return list // longer ones are several of these
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

// packedValues makes a candidate of each field of the frames that may be the
// value.
func packedValues(p frame.Packed, frames [][]byte) []candidate {
	if len(frames) < leastFrames {
		return nil
	}
	header, sumAt := layout(&p)
	var list []candidate
	for _, f := range rank(frames, header, sumAt, 1, []string{"bcd", "bcd low-first", "int", "uint", "float"}, []string{"big", "little"}) {
		own := p
		own.At, own.Size, own.Order, own.Sign = f.at, f.size, f.order, f.sign
		own.Type, own.Nibbles, _ = strings.Cut(f.kind, " ")
		list = append(list, f.candidate(device.Profile{Name: fmt.Sprintf("heard-packed-%d", p.Length), Frame: device.FramePacked, Packed: &own,
			Title: "binary frames, found by listening; set decimals and unit by the display"}))
	}
	return list
}

// packedLayout looks for header and checksum of frames with the length. Seen
// from its second byte on, a frame may be one too, with the first as its end: the
// one with the longer header is taken, and before one with an end.
func packedLayout(b []byte, length int) (best frame.Packed, ok bool) {
	for phase := 0; phase < length && phase+windowFrames*length <= len(b); phase++ {
		frames := make([][]byte, windowFrames)
		for i := range frames {
			frames[i] = b[phase+i*length:][:length]
		}
		fixed, seen := sameColumns(frames), map[string]bool{}
		for _, f := range frames {
			seen[string(f)] = true
		}
		if !fixed[0] || len(seen) < leastDifferent {
			continue
		}
		p, found := packedChecksum(frames, fixed)
		if found && (!ok || len(p.Header) > len(best.Header) || len(p.Header) == len(best.Header) && p.Trailer == "" && best.Trailer != "") {
			best, ok = p, true
		}
	}
	return best, ok
}

// mostPacked bounds the frames that are looked at for the value, and with them
// the time that the search takes: each is read in some hundred ways.
const mostPacked = 200

// soundPacked returns the frames of the layout that have a right checksum.
func soundPacked(p frame.Packed, b []byte) [][]byte {
	p.At, _ = layout(&p)
	p.Size, p.Type = 1, "uint"
	dec, _ := p.NewDecoder() // a byte behind the header fits any layout
	var frames [][]byte
	dec.Feed(time.Time{}, b, func(f *frame.Frame) {
		if f.Bad == "" && len(frames) < mostPacked {
			frames = append(frames, slices.Clone(f.Raw))
		}
	})
	return frames
}

// sameColumns says which bytes are the same in all frames.
func sameColumns(frames [][]byte) []bool {
	is := make([]bool, len(frames[0]))
	for c := range is {
		is[c] = !slices.ContainsFunc(frames, func(f []byte) bool { return f[c] != frames[0][c] })
	}
	return is
}

// A check is a checksum that is tried.
type check struct {
	name string
	sum  frame.Checksum
}

// checks lists the checksums, the commonest first: those with a name, and CRCs of
// the usual polynomials that start from and end with all ones or none.
var checks = sync.OnceValue(func() (list []check) {
	add := func(name string) {
		sum, _ := frame.ChecksumNamed(name)
		list = append(list, check{name, sum})
	}
	for _, name := range strings.Fields("crc32 crc16-modbus crc16-ccitt crc16-xmodem crc16-kermit crc16-arc crc16-aug crc16-genibus sum8 sum16 xor8 lrc crc8") {
		add(name)
	}
	for i := range 8 {
		ones, mirrored := []int{0, 0xFFFF}, i&1 == 1
		for _, poly := range []int{0x07, 0x31, 0x1D, 0x8005, 0x1021} {
			width := 8
			if poly > 0xFF {
				width = 16
			}
			start, xor := ones[i>>1&1]>>(16-width), ones[i>>2]>>(16-width)
			add(fmt.Sprintf("width=%d poly=%#x init=%#x refin=%t refout=%t xorout=%#x", width, poly, start, mirrored, mirrored, xor))
		}
	}
	return list
})

// layout says where the header of a packed frame ends and its checksum starts.
func layout(p *frame.Packed) (header, sumAt int) {
	sum, _ := frame.ChecksumNamed(p.Checksum)
	return (len(p.Header) + 1) / 3, p.Length - sum.Size - len(p.Trailer)/2
}

// packedChecksum finds the checksum that is right in all frames, at the end
// or before one fixed last byte.
func packedChecksum(frames [][]byte, fixed []bool) (frame.Packed, bool) {
	last := len(fixed) - 1
	trailers := []string{""}
	if fixed[last] {
		trailers = append(trailers, fmt.Sprintf("%02X", frames[0][last]))
	}
	for _, trailer := range trailers {
		for _, c := range checks() {
			for _, order := range []string{"little", "big"}[:min(c.sum.Size, 2)] {
				for from := range 3 { // many sums leave out the header
					p := frame.Packed{Length: last + 1, Trailer: trailer, Checksum: c.name, SumOrder: order, From: from}
					if headerAndSum(&p, c.sum, frames, fixed) {
						return p, true
					}
				}
			}
		}
	}
	return frame.Packed{}, false
}

// headerAndSum fills in the header of one byte, or two where the second is
// fixed too, and checks all frames. A value that happens not to move in its
// high byte must not become header, so a second byte of 00 or FF is none, and
// only a pair that is made to be found counts: AA 55, A5 11, the first above
// 7F and the second of two equal halves.
func headerAndSum(p *frame.Packed, sum frame.Checksum, frames [][]byte, fixed []bool) bool {
	_, sumAt := layout(p)
	n := 1
	if fixed[1] && frames[0][1] != 0 && frames[0][1] != 0xFF && sumAt > 3 && frames[0][0] >= 0x80 && frames[0][1]&0x0F == frames[0][1]>>4 {
		n = 2
	}
	p.Header = fmt.Sprintf("% X", frames[0][:n])
	if p.From > n || sumAt <= n || fixed[sumAt] && fixed[sumAt+sum.Size-1] {
		return false // a sum of frames that differ differs
	}
	return !slices.ContainsFunc(frames, func(f []byte) bool { return !sum.Right(f, p.From, sumAt, p.SumOrder == "big") })
}
