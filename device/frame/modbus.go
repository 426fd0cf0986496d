package frame

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// A Modbus describes a value in the registers of a Modbus RTU device.
//
//	question   | address | function | register | registers | CRC |
//	answer     | address | function | bytes | value ...     | CRC |
//	exception  | address | function + 80 | code             | CRC |
//
// Register, registers and each register of the value have their high byte
// first, the CRC its low byte; which register of a value is the higher one
// the standard leaves open.
// Source: Modbus Application Protocol V1.1b3, 6.3 and 6.4; Modbus over Serial
// Line V1.02, 2.5.1.
type Modbus struct {
	Address  int     `toml:"address"`            // of the device, 1 to 247
	Function int     `toml:"function"`           // 3: holding registers, 4: input registers
	Register int     `toml:"register"`           // first register as sent, 0 to 65535
	Type     string  `toml:"type"`               // "int16", "uint16", "int32", "uint32", "float32", "int64", "uint64" or "float64"
	Words    string  `toml:"words,omitempty"`    // order of the registers: "high-first" (the default) or "low-first"; or of the bytes as the trade writes it: "ABCD", "CDAB", "BADC", "DCBA"
	Decimals int     `toml:"decimals,omitempty"` // the value is divided by ten this many times
	Scale    float64 `toml:"scale,omitempty"`    // the value is multiplied by this; 0: 1
}

const (
	// modbusOverhead is what an answer has besides its data: address, function,
	// count of bytes and two bytes of check.
	modbusOverhead = 5
	// modbusRefusal is set in the function of an exception.
	modbusRefusal = 0x80
)

// modbusExceptions are the exception codes of the Modbus Application Protocol
// V1.1b3, 7.
var modbusExceptions = map[byte]string{
	1: "illegal function", 2: "illegal data address", 3: "illegal data value", 4: "server device failure",
	5: "acknowledge", 6: "server device busy", 8: "memory parity error",
	10: "gateway path unavailable", 11: "gateway target device failed to respond",
}

// modbusDecoder finds the answers of one device to one question.
type modbusDecoder struct {
	Modbus
	question []byte
	count    int // data bytes in an answer
	scaling  scaling
	seeker
}

// NewDecoder checks the description and returns a decoder for it.
func (m *Modbus) NewDecoder() (Decoder, error) {
	d := &modbusDecoder{Modbus: *m}
	if m.Address < 1 || m.Address > 247 {
		return nil, fmt.Errorf("address %d: want 1 to 247", m.Address)
	}
	if m.Function != 3 && m.Function != 4 {
		return nil, fmt.Errorf("function %d: want 3 or 4", m.Function)
	}
	if !slices.Contains([]string{"", "high-first", "low-first", "ABCD", "CDAB", "BADC", "DCBA"}, m.Words) {
		return nil, fmt.Errorf("words %q: want high-first, low-first, ABCD, CDAB, BADC or DCBA", m.Words)
	}
	d.count = 2 * m.registers()
	if d.count == 0 {
		return nil, fmt.Errorf("type %q: want int16, uint16, int32, uint32, float32, int64, uint64 or float64", m.Type)
	}
	if m.Register < 0 || m.Register+m.registers() > 65536 {
		return nil, fmt.Errorf("register %d: want 0 to %d", m.Register, 65536-m.registers())
	}
	var err error
	if d.scaling, err = newScaling(m.Decimals, m.Scale); err != nil {
		return nil, err
	}
	d.question = m.Request()
	d.seeker = seeker{most: max(modbusOverhead+d.count, len(d.question)), match: d.match}
	return d, nil
}

// registerTypes says how many registers a value of each type takes.
var registerTypes = map[string]int{"int16": 1, "uint16": 1, "int32": 2, "uint32": 2, "float32": 2, "int64": 4, "uint64": 4, "float64": 4}

// registers returns how many registers the value takes, 0 for a type unknown.
func (m *Modbus) registers() int { return registerTypes[m.Type] }

// Request returns the frame that asks for the value.
func (m *Modbus) Request() []byte {
	b := []byte{byte(m.Address), byte(m.Function), byte(m.Register >> 8), byte(m.Register), 0, byte(m.registers())}
	return modbusCRC.Append(b)
}

// modbusCRC is the check at the end of every frame, low byte first.
var modbusCRC = checksums["crc16-modbus"]

// match tells whether an answer starts at b[0]: address, function, count of
// bytes, registers, check; or address, function + 128, code, check. An
// adapter that echoes the question is not heard.
func (d *modbusDecoder) match(b []byte) (int, Frame) {
	if n := min(len(b), len(d.question)); n > 2 && bytes.Equal(b[:n], d.question[:n]) {
		if n < len(d.question) {
			return needMore, Frame{}
		}
		return n, Frame{} // not heard
	}
	length := modbusOverhead + d.count
	switch {
	case b[0] != byte(d.Address):
		return noFrame, Frame{}
	case len(b) < 2:
		return needMore, Frame{}
	case b[1] == byte(d.Function)|modbusRefusal:
		length = modbusOverhead // the code stands where the count of bytes does
	case b[1] != byte(d.Function), len(b) > 2 && b[2] != byte(d.count):
		return noFrame, Frame{}
	}
	if len(b) < length {
		return needMore, Frame{}
	}
	b = b[:length]
	if !modbusCRC.Right(b, 0, length-2, false) {
		return noFrame, Frame{}
	}
	f := Frame{Raw: b, Binary: true, Decimals: d.scaling.shown()}
	if b[1]&modbusRefusal != 0 {
		f.Bad, f.Refused = fmt.Sprintf("modbus exception %d (%s)", b[2], cmp.Or(modbusExceptions[b[2]], "unknown")), true
		return length, f
	}
	d.value(b[3:3+d.count], &f)
	return length, f
}

// value reads the registers in the order of the device.
func (d *modbusDecoder) value(b []byte, f *Frame) {
	kind := strings.TrimRight(d.Type, "0123456789")
	f.Value, _ = Number(kind, d.Words, b)
	if kind == "float" {
		f.Decimals = -1
	}
	switch {
	case math.IsNaN(f.Value):
		f.Bad, f.Refused = "not a number", true
	case math.IsInf(f.Value, 0):
		f.Bad, f.Flags = "over range", FlagOverRange
	default:
		f.Value = d.scaling.value(f.Value)
	}
}

// ModbusSilence returns the pause of 3.5 characters of 11 bits that parts two
// frames, 1.75 ms above 19200 baud, where the characters are too short for a
// timer.
// Source: Modbus over Serial Line V1.02, 2.5.1.1.
func ModbusSilence(baud int) time.Duration {
	if baud > 19200 {
		return 1750 * time.Microsecond
	}
	return time.Duration(3.5 * 11 * float64(time.Second) / float64(baud))
}
