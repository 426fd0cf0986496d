package frame

import (
	"bytes"
	"cmp"
	"encoding/hex"
	"fmt"
	"math"
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
	Checksum string            `toml:"checksum,omitempty"`       // "none" (the default), or a name of ChecksumList
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

// of returns the bits in a frame, in place.
func (b *Bits) of(frame []byte) byte { return frame[b.At] & b.mask }

// A packedDecoder finds packed frames in a stream.
type packedDecoder struct {
	Packed
	header, trailer []byte
	sum             Checksum
	sumAt           int
	units           map[byte]string
	scaling         scaling
	raw             []byte // the value's bytes, most significant first
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
	if d.Length < 2 || d.Length > longestFrame {
		return fmt.Errorf("length %d: want 2 to %d bytes", d.Length, longestFrame)
	}
	var err error
	if d.header, err = HexBytes(d.Header); err != nil {
		return fmt.Errorf("header %w", err)
	}
	if d.trailer, err = HexBytes(d.Trailer); err != nil {
		return fmt.Errorf("trailer %w", err)
	}
	if d.Checksum != "" && d.Checksum != "none" {
		var ok bool
		if d.sum, ok = ChecksumNamed(d.Checksum); !ok {
			return fmt.Errorf("checksum %q: want none, "+ChecksumList, d.Checksum)
		}
	}
	d.sumAt = d.Length - len(d.trailer) - d.sum.Size
	if d.sumAt < len(d.header) {
		return fmt.Errorf("length %d: header, checksum and trailer do not fit in it", d.Length)
	}
	switch {
	case d.sum.Size > 0:
	case d.From != 0:
		return fmt.Errorf("checksum_from without checksum")
	case d.SumOrder != "":
		return fmt.Errorf("checksum_order without checksum")
	}
	if d.From < 0 || d.From >= d.sumAt {
		return fmt.Errorf("checksum_from %d: want 0 to %d", d.From, d.sumAt-1)
	}
	if len(d.header) == 0 && d.sum.Size == 0 { // any bytes would do for a frame
		return fmt.Errorf("header missing, and no checksum: frames could not be found in the stream")
	}
	for key, order := range map[string]string{"order": d.Order, "checksum_order": d.SumOrder} {
		if order != "" && order != "big" && order != "little" {
			return fmt.Errorf("%s %q: want big or little", key, order)
		}
	}
	if err := d.compileValue(); err != nil {
		return err
	}
	return d.compileBits()
}

func (d *packedDecoder) compileValue() error {
	if d.At < 0 || d.Size < 1 || d.At+d.Size > d.sumAt {
		return fmt.Errorf("at %d: a value of size %d does not fit before the checksum at %d", d.At, d.Size, d.sumAt)
	}
	switch d.Type {
	case "int", "uint", "bcd":
		if d.Size > 8 {
			return fmt.Errorf("size %d: want 1 to 8 for type %s", d.Size, d.Type)
		}
	case "float":
		if d.Size != 4 && d.Size != 8 {
			return fmt.Errorf("size %d: want 4 or 8 for type float", d.Size)
		}
	default:
		return fmt.Errorf("type %q: want int, uint, float or bcd", d.Type)
	}
	if d.Nibbles != "" && (d.Nibbles != "low-first" || d.Type != "bcd") {
		return fmt.Errorf("nibbles %q: want low-first, of type bcd", d.Nibbles)
	}
	var err error
	if d.scaling, err = newScaling(d.Decimals, d.Scale); err != nil {
		return err
	}
	d.raw = make([]byte, d.Size)
	return nil
}

func (d *packedDecoder) compileBits() error {
	for _, b := range []struct {
		key  string
		bits **Bits
	}{{"sign", &d.Sign}, {"hold", &d.Hold}, {"low_battery", &d.Battery}, {"over", &d.Over}, {"unit_bits", &d.UnitBits}, {"seq", &d.Seq}} {
		if *b.bits == nil {
			continue
		}
		own := **b.bits // the profile stays as it was
		if own.At < 0 || own.At >= d.Length {
			return &KeyError{Key: b.key + ".at", Err: fmt.Errorf("%d, want 0 to %d", own.At, d.Length-1)}
		}
		m, err := strconv.ParseUint(cmp.Or(own.Mask, "FF"), 16, 8)
		if err != nil || m == 0 {
			return &KeyError{Key: b.key + ".mask", Err: fmt.Errorf("%q, want hex 01 to FF", own.Mask)}
		}
		own.mask = byte(m)
		*b.bits = &own
	}
	if len(d.Units) > 0 && d.UnitBits == nil {
		return fmt.Errorf("units without unit_bits")
	}
	d.units = map[byte]string{}
	for code, unit := range d.Units {
		c, err := strconv.ParseUint(code, 16, 8)
		if err != nil || Quantity(unit) == "" {
			return &KeyError{Key: "units." + code, Err: fmt.Errorf("%q, want a hex byte and a unit: %s", unit, UnitList)}
		}
		d.units[byte(c)] = unit
	}
	return nil
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
	if !bytes.HasSuffix(b, d.trailer) || d.sum.Size > 0 && !d.sum.Right(b, d.From, d.sumAt, d.SumOrder == "big") {
		return noFrame, Frame{}
	}
	f := d.decode(b)
	f.Raw, f.Binary = b, true
	return d.Length, f
}

// decode reads a frame whose checksum is right.
func (d *packedDecoder) decode(b []byte) Frame {
	f := Frame{Decimals: d.scaling.shown()}
	v := d.raw
	copy(v, b[d.At:])
	// A sign bit in the bytes of the value is no part of the magnitude.
	if d.Sign != nil && d.Sign.At >= d.At && d.Sign.At < d.At+d.Size {
		v[d.Sign.At-d.At] &^= d.Sign.mask
	}
	kind := d.Type
	if d.Nibbles != "" {
		kind += " " + d.Nibbles
	}
	var ok bool
	if f.Value, ok = Number(kind, d.Order, v); !ok {
		f.Bad = "digit is not a decimal one"
	}
	f.Value = d.scaling.value(f.Value)
	if d.Sign != nil && d.Sign.of(b) != 0 {
		f.Value = -f.Value
	}
	if d.Type == "float" {
		f.Decimals = -1
	}
	if f.Bad == "" && (math.IsNaN(f.Value) || math.IsInf(f.Value, 0)) {
		f.Bad = "value is not a finite number"
	}
	for _, s := range []struct {
		bits *Bits
		flag Flags
	}{{d.Hold, FlagHold}, {d.Battery, FlagLowBattery}, {d.Over, FlagOverRange}} {
		if s.bits != nil && s.bits.of(b) != 0 {
			f.Flags |= s.flag
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
		f.Numbered, f.Seq = true, int64(d.Seq.of(b))
	}
	return f
}

// HexBytes reads pairs of hex digits, with or without spaces between.
func HexBytes(s string) ([]byte, error) {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		return nil, fmt.Errorf("%q: want pairs of hex digits", s)
	}
	return b, nil
}
