package frame

import (
	"bytes"
	"cmp"
	"encoding/hex"
	"fmt"
	"strconv"
	"strings"
)

// A Packed describes a binary frame of fixed length. Bytes are numbered from
// 0 at the first byte of the header.
//
//	0        header     value              checksum
//	| AA 55 | 01 | 00 01 23 | ... | sum |
//
// One or more bits of a byte may be the sign, a state, a counter or the unit:
//
//	sign = { at = 1, mask = "01" }
//	unit_bits = { at = 1, mask = "08" }
//	units = { "00" = "mm", "08" = "in" }
//
// After a loss the decoder finds the next frame by header and checksum; what
// lies between is garbled.
type Packed struct {
	Length   int               `toml:"length"`                   // of the whole frame in bytes
	Header   string            `toml:"header,omitempty"`         // first bytes in hex
	Trailer  string            `toml:"trailer,omitempty"`        // last bytes in hex, after the checksum
	At       int               `toml:"at"`                       // first byte of the value
	Size     int               `toml:"size"`                     // bytes of the value
	Type     string            `toml:"type"`                     // "int", "uint", "float" or "bcd"
	Order    string            `toml:"order,omitempty"`          // of the value's bytes: "big" (the default) or "little"
	Nibbles  string            `toml:"nibbles,omitempty"`        // of BCD: "low-first" where each byte has its lower digit in its upper half
	Decimals int               `toml:"decimals,omitempty"`       // the value is divided by ten this many times
	Scale    float64           `toml:"scale,omitempty"`          // the value is multiplied by this; 0: 1
	Sign     *Bits             `toml:"sign,omitempty"`           // set: negative
	Hold     *Bits             `toml:"hold,omitempty"`           // set: the display is held
	Battery  *Bits             `toml:"low_battery,omitempty"`    // set: the battery is low
	Over     *Bits             `toml:"over,omitempty"`           // set: beyond the scale
	UnitBits *Bits             `toml:"unit_bits,omitempty"`      // the bits that Units explains
	Units    map[string]string `toml:"units,omitempty"`          // hex value of the unit bits to unit
	Seq      *Bits             `toml:"seq,omitempty"`            // a counter of frames
	Checksum string            `toml:"checksum,omitempty"`       // "none" (the default), or one of ChecksumList
	From     int               `toml:"checksum_from,omitempty"`  // first byte under the checksum, which ends before the checksum itself
	SumOrder string            `toml:"checksum_order,omitempty"` // "little" (the default) or "big"
}

// longestFrame bounds a packed frame, and so what the decoder holds. One value
// with its state takes some ten bytes; 256 is what Modbus RTU allows, which
// most protocols on such lines keep to.
const longestFrame = 256

// Bits are some bits of one byte of a frame.
type Bits struct {
	At   int    `toml:"at"`
	Mask string `toml:"mask,omitempty"` // hex; "": FF
	mask byte
}

// of returns the bits in a frame, in place; 0 for none.
func (b *Bits) of(frame []byte) byte {
	if b == nil {
		return 0
	}
	return frame[b.At] & b.mask
}

// A packedDecoder finds packed frames in a stream.
type packedDecoder struct {
	Packed
	header, trailer []byte
	sum             Checksum
	sumAt           int
	units           map[byte]string
	scaling         scaling
	raw             []byte // the value's bytes, most significant first
	kind            string // of Number
	seeker
}

// NewDecoder checks the description and returns a decoder for it.
func (p *Packed) NewDecoder() (Decoder, error) {
	d := &packedDecoder{Packed: *p}
	if err := d.compile(); err != nil {
		return nil, err
	}
	d.seeker = seeker{most: d.Length, match: d.match}
	return d, nil
}

// compile checks the description.
func (d *packedDecoder) compile() error {
	var headerErr, trailerErr, scalingErr error
	var known bool
	d.header, headerErr = HexBytes(d.Header)
	d.trailer, trailerErr = HexBytes(d.Trailer)
	d.sum, known = ChecksumNamed(d.Checksum)
	d.scaling, scalingErr = newScaling(d.Decimals, d.Scale, 0)
	sums := d.sum.Size > 0
	d.sumAt = d.Length - len(d.trailer) - d.sum.Size
	d.kind = strings.TrimSpace(d.Type + " " + d.Nibbles)
	widths := map[string]string{"int": "1 to 8", "uint": "1 to 8", "bcd": "1 to 8", "float": "4 or 8"}[d.Type]
	fits := d.Size >= 1 && d.Size <= 8 && (d.Type != "float" || d.Size%4 == 0)
	if err := cmp.Or(
		Want(d.Length >= 2 && d.Length <= longestFrame, "length", d.Length, fmt.Sprintf("2 to %d bytes", longestFrame)),
		Want(headerErr == nil, "header", d.Header, hexPairs),
		Want(trailerErr == nil, "trailer", d.Trailer, hexPairs),
		Want(known, "checksum", d.Checksum, ChecksumList),
		Want(d.sumAt >= len(d.header), "length", d.Length, "room for header, checksum and trailer"),
		Want(sums || d.From == 0, "checksum_from", d.From, "a checksum too"),
		Want(sums || d.SumOrder == "", "checksum_order", d.SumOrder, "a checksum too"),
		Want(d.From >= 0 && d.From < max(d.sumAt, 1), "checksum_from", d.From, fmt.Sprint("0 to ", d.sumAt-1)),
		// Without either any bytes would do for a frame.
		Want(sums || len(d.header) > 0, "header", d.Header, "some bytes, or a checksum, to find frames in the stream by"),
		WantOneOf("order", d.Order, "big or little"),
		WantOneOf("checksum_order", d.SumOrder, "big or little"),
		Want(d.At >= 0 && d.Size >= 1 && d.At+d.Size <= d.sumAt, "at", d.At, fmt.Sprintf("size %d to end before the checksum at %d", d.Size, d.sumAt)),
		Want(widths != "", "type", d.Type, "int, uint, float or bcd"),
		Want(fits, "size", d.Size, widths+" for type "+d.Type),
		Want(d.Nibbles == "" || d.Nibbles == "low-first" && d.Type == "bcd", "nibbles", d.Nibbles, "low-first, of type bcd"),
		scalingErr,
	); err != nil {
		return err
	}
	d.raw = make([]byte, d.Size)
	return d.compileBits()
}

// compileBits checks the bits that say something, and reads their masks.
func (d *packedDecoder) compileBits() error {
	errs := []error{Want(len(d.Units) == 0 || d.UnitBits != nil, "unit_bits", "", "the bits that tell the units")}
	for _, b := range []struct {
		key  string
		bits **Bits
	}{{"sign", &d.Sign}, {"hold", &d.Hold}, {"low_battery", &d.Battery}, {"over", &d.Over}, {"unit_bits", &d.UnitBits}, {"seq", &d.Seq}} {
		if *b.bits != nil {
			own := **b.bits                                           // the profile stays as it was
			m, _ := strconv.ParseUint(cmp.Or(own.Mask, "FF"), 16, 64) // 0 for none
			errs = append(errs, Want(own.At >= 0 && own.At < d.Length, b.key+".at", own.At, fmt.Sprint("0 to ", d.Length-1)),
				Want(m > 0 && m <= 0xFF, b.key+".mask", own.Mask, "hex 01 to FF"))
			own.mask, *b.bits = byte(m), &own
		}
	}
	d.units = map[byte]string{}
	for code, unit := range d.Units {
		c, err := strconv.ParseUint(code, 16, 8)
		errs = append(errs, Want(err == nil && Quantity(unit) != "", "units."+code, unit, "a hex byte and a unit: "+UnitList))
		d.units[byte(c)] = unit
	}
	return cmp.Or(errs...)
}

// match tells whether a frame starts at b[0].
func (d *packedDecoder) match(b []byte) (int, Frame) {
	n := min(len(b), len(d.header))
	if !bytes.Equal(b[:n], d.header[:n]) {
		return noFrame, Frame{}
	}
	if len(b) < d.Length {
		return needMore, Frame{}
	}
	b = b[:d.Length]
	if !bytes.HasSuffix(b, d.trailer) || !d.sum.Right(b, d.From, d.sumAt, d.SumOrder == "big") {
		return noFrame, Frame{}
	}
	return d.Length, d.decode(b)
}

// decode reads a frame whose checksum is right.
func (d *packedDecoder) decode(b []byte) Frame {
	f := Frame{Raw: b, Binary: true, Decimals: d.scaling.shown}
	v := d.raw
	copy(v, b[d.At:])
	// A sign bit in the bytes of the value is no part of the magnitude.
	if d.Sign != nil && d.Sign.At >= d.At && d.Sign.At < d.At+d.Size {
		v[d.Sign.At-d.At] &^= d.Sign.mask
	}
	var ok bool
	if f.Value, ok = Number(d.kind, d.Order, v); !ok {
		f.Bad = "digit is not a decimal one"
	}
	f.Value = d.scaling.value(f.Value)
	if d.Sign.of(b) != 0 {
		f.Value = -f.Value
	}
	if d.Type == "float" {
		f.Decimals = -1
	}
	f.absent()
	for i, bits := range []*Bits{d.Hold, d.Battery, d.Over} {
		if bits.of(b) != 0 {
			f.Flags |= [...]Flags{FlagHold, FlagLowBattery, FlagOverRange}[i]
		}
	}
	if d.UnitBits != nil {
		unit, ok := d.units[d.UnitBits.of(b)]
		if !ok && f.Bad == "" {
			f.Bad = "unit code is not known"
		}
		f.Unit = unit
	}
	if d.Seq != nil {
		f.Seq = string([]byte{d.Seq.of(b)})
	}
	return f
}

const hexPairs = "pairs of hex digits"

// HexBytes reads pairs of hex digits, with or without spaces between.
func HexBytes(s string) ([]byte, error) {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		return nil, fmt.Errorf("%q: want %s", s, hexPairs)
	}
	return b, nil
}
