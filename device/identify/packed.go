package identify

import (
	"encoding/binary"
	"fmt"
	"math"
	"slices"

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
	// widestValue in bytes: eight digits, or 32 bits, are more than a gauge shows.
	widestValue = 4
)

// packedCandidates finds fixed-length frames by header and checksum, and in
// them the value that moves most smoothly:
//
//	AA 55 | 00 01 23 | 07 | 2A      length 7: every seventh byte is AA
//	AA 55 | 00 01 25 | 08 | 2D      the last is right in all frames: the sum
//	AA 55 | 00 01 26 | 09 | 2F      this one counts; that one moves smoothly
//
// Where the decimal point stands and what the unit is cannot be seen in such a
// frame.
func packedCandidates(b []byte) []candidate {
	for length := shortestPacked; length <= longestPacked; length++ {
		// One damaged frame spoils a window, so three places are tried.
		for _, at := range []int{0, len(b) / 4, len(b) / 2} {
			p, ok := packedLayout(b[at:], length)
			if !ok || !findValue(&p, soundPacked(p, b)) {
				continue
			}
			prof := device.Profile{Name: fmt.Sprintf("heard-packed-%d", length), Frame: device.FramePacked, Packed: &p,
				Title: "binary frames, found by listening; set decimals and unit by the display"}
			return []candidate{{prof, 5}} // longer ones are several of these
		}
	}
	return nil
}

// packedLayout looks for header and checksum of frames with the length.
func packedLayout(b []byte, length int) (p frame.Packed, ok bool) {
	for phase := 0; phase < length && phase+windowFrames*length <= len(b); phase++ {
		frames := make([][]byte, windowFrames)
		for i := range frames {
			frames[i] = b[phase+i*length:][:length]
		}
		fixed := sameColumns(frames)
		if !fixed[0] || different(frames) < leastDifferent {
			continue
		}
		if p, ok = packedChecksum(frames, fixed); ok {
			return p, true
		}
	}
	return p, false
}

// mostPacked bounds the frames that are looked at for the value, and with them
// the time that the search takes: each is decoded in some hundred ways.
const mostPacked = 400

// soundPacked returns the frames of the layout that have a right checksum.
func soundPacked(p frame.Packed, b []byte) [][]byte {
	p.At, _ = layout(&p)
	p.Size, p.Type = 1, "uint"
	dec, err := p.NewDecoder()
	if err != nil {
		return nil
	}
	var frames [][]byte
	dec.Feed(b, func(f *frame.Frame) {
		if f.Bad == "" && len(frames) < mostPacked {
			frames = append(frames, slices.Clone(f.Raw))
		}
	})
	return frames
}

// sameColumns says which bytes are the same in all frames.
func sameColumns(frames [][]byte) []bool {
	return columns(frames, 1, func(before, now byte) bool { return now == before })
}

// counterColumns says which bytes count the frames: one more each time but
// where frames were lost. A counter moves more smoothly than any value.
func counterColumns(frames [][]byte) []bool {
	const share = 0.9 // some frames may be lost
	return columns(frames, share, func(before, now byte) bool { return now == before+1 })
}

// columns says which bytes follow the byte of the frame before as ok says, at
// least in the share of the frames.
func columns(frames [][]byte, share float64, ok func(before, now byte) bool) []bool {
	is := make([]bool, len(frames[0]))
	for c := range is {
		steps := 0
		for i := 1; i < len(frames); i++ {
			if ok(frames[i-1][c], frames[i][c]) {
				steps++
			}
		}
		is[c] = float64(steps) >= share*float64(len(frames)-1)
	}
	return is
}

func different(frames [][]byte) int {
	seen := map[string]bool{}
	for _, f := range frames {
		seen[string(f)] = true
	}
	return len(seen)
}

// checksumNames lists the checksums, the commonest first.
var checksumNames = []string{"crc16-modbus", "crc16-ccitt", "crc16-xmodem", "crc16-kermit", "crc16-arc", "crc16-aug", "crc16-genibus", "sum8", "xor8", "lrc", "crc8"}

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
		for _, kind := range checksumNames {
			sum, _ := frame.ChecksumNamed(kind)
			for _, order := range byteOrders(sum.Size, "little", "big") {
				for from := range 3 { // many sums leave out the header
					p := frame.Packed{Length: last + 1, Trailer: trailer, Checksum: kind, SumOrder: order, From: from}
					if headerAndSum(&p, frames, fixed) {
						return p, true
					}
				}
			}
		}
	}
	return frame.Packed{}, false
}

// byteOrders returns the orders that so many bytes can have: one byte has one.
func byteOrders(size int, orders ...string) []string { return orders[:min(size, len(orders))] }

// headerAndSum fills in the header of one byte, or two where the second is
// fixed too, and checks all frames. A value that happens not to move in its
// high byte must not become header, so a second byte of 00 or FF is none, and
// only a pair that is made to be found counts: AA 55, A5 11, the first above
// 7F and the second of two equal halves.
func headerAndSum(p *frame.Packed, frames [][]byte, fixed []bool) bool {
	_, sumAt := layout(p)
	n := 1
	if fixed[1] && frames[0][1] != 0 && frames[0][1] != 0xFF && sumAt > 3 && frames[0][0] >= 0x80 && frames[0][1]&0x0F == frames[0][1]>>4 {
		n = 2
	}
	p.Header = fmt.Sprintf("% X", frames[0][:n])
	if p.From > n || sumAt <= n {
		return false
	}
	sum, _ := frame.ChecksumNamed(p.Checksum)
	for _, f := range frames {
		if !sum.Right(f, p.From, sumAt, p.SumOrder == "big") {
			return false
		}
	}
	return true
}

// A valueForm is one reading of the bytes as a value.
type valueForm struct {
	frame.Packed
	rough  float64
	moving int // bytes that move and are part of it
}

// findValue sets the value's place and type: of all that are possible the one
// that moves smoothly through its range, as a plunger does. The head of a
// value moves as smoothly as the whole; so of nearly equal ones that with the
// most moving bytes is taken, and the widest of those.
func findValue(p *frame.Packed, frames [][]byte) bool {
	if len(frames) < windowFrames {
		return false
	}
	header, sumAt := layout(p)
	counters, fixed := counterColumns(frames), sameColumns(frames)
	smoothest := math.Inf(1)
	var forms []valueForm
	for size := min(widestValue, sumAt-header); size >= 1; size-- {
		for at := header; at+size <= sumAt; at++ {
			if slices.Contains(counters[at:at+size], true) {
				continue
			}
			moving := 0
			for _, f := range fixed[at : at+size] {
				if !f {
					moving++
				}
			}
			for _, c := range valueForms(*p, at, size, frames) {
				r := roughness(c, frames)
				smoothest = min(smoothest, r)
				forms = append(forms, valueForm{c, r, moving})
			}
		}
	}
	if math.IsInf(smoothest, 1) {
		return false
	}
	// Forms within 15 % are the same movement, seen with more or fewer of its
	// low bytes.
	const alike = 1.15
	var best valueForm
	for _, f := range forms {
		if f.rough <= alike*smoothest && (best.Type == "" || f.moving > best.moving || f.moving == best.moving && f.rough < best.rough-1e-9) {
			best = f
		}
	}
	if c := slices.Index(counters[header:sumAt], true); c >= 0 {
		best.Seq = &frame.Bits{At: header + c}
	}
	*p = best.Packed
	return true
}

// valueForms lists what the bytes from at can be.
func valueForms(p frame.Packed, at, size int, frames [][]byte) []frame.Packed {
	p.At, p.Size = at, size
	decimal := true
	for _, f := range frames {
		for _, c := range f[at : at+size] {
			decimal = decimal && c>>4 <= 9 && c&15 <= 9
		}
	}
	var list []frame.Packed
	for _, order := range byteOrders(size, "big", "little") {
		p.Order = order
		high := at
		if order == "little" {
			high = at + size - 1
		}
		if c := frames[0][high]; size > 1 && sameColumns(frames)[high] && c != 0 && c != 0xFF {
			continue // rather a state than the head of the value
		}
		kinds := []string{}
		if size == widestValue && allFloats(p, frames) {
			kinds = append(kinds, "float")
		}
		if decimal {
			kinds = append(kinds, "bcd")
		} else if size >= 2 {
			kinds = append(kinds, "int", "uint")
		}
		for _, kind := range kinds {
			p.Type = kind
			list = append(list, p)
			if kind != "float" && kind != "int" {
				list = append(list, signForms(p, frames)...)
			}
		}
	}
	return list
}

func allFloats(p frame.Packed, frames [][]byte) bool {
	for _, f := range frames {
		bits := binary.BigEndian.Uint32(f[p.At:])
		if p.Order == "little" {
			bits = binary.LittleEndian.Uint32(f[p.At:])
		}
		if !gaugeFloat(bits) {
			return false
		}
	}
	return true
}

// signForms lists the same value with a sign bit in another byte that moves:
// with the right one a magnitude that turns back at zero goes straight through.
func signForms(p frame.Packed, frames [][]byte) []frame.Packed {
	var list []frame.Packed
	fixed := sameColumns(frames)
	header, sumAt := layout(&p)
	for c := header; c < sumAt; c++ {
		if fixed[c] || c >= p.At && c < p.At+p.Size {
			continue
		}
		for bit := range 8 {
			s := p
			s.Sign = &frame.Bits{At: c, Mask: fmt.Sprintf("%02X", 1<<bit)}
			list = append(list, s)
		}
	}
	return list
}

// roughness is the way the value goes up and down, divided by its range: 1
// for a steady climb, much more for bytes that are not a value:
//
//	sum |v[i] - v[i-1]| / (max - min)
//
// A single step over more than a quarter of the range adds ten times the
// excess: so jump bytes with a foreign head, and low bytes that wrap.
func roughness(p frame.Packed, frames [][]byte) float64 {
	p.Checksum, p.SumOrder, p.From, p.Trailer = "", "", 0, "" // the frames are known to be sound
	d, err := p.NewDecoder()
	if err != nil {
		return math.Inf(1)
	}
	way, step, low, high := 0.0, 0.0, math.Inf(1), math.Inf(-1)
	previous, bad := math.NaN(), false
	each := func(f *frame.Frame) {
		bad = bad || f.Bad != ""
		if !math.IsNaN(previous) {
			way += math.Abs(f.Value - previous)
			step = max(step, math.Abs(f.Value-previous))
		}
		previous = f.Value
		low, high = min(low, f.Value), max(high, f.Value)
	}
	for _, f := range frames {
		d.Feed(f, each)
	}
	if bad || high == low {
		return math.Inf(1)
	}
	const freeStep, stepWeight = 0.25, 10
	return way/(high-low) + stepWeight*max(0, step/(high-low)-freeStep)
}
