package frame

import (
	"bytes"
	"cmp"
	"fmt"
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

// modbusOverhead is what an answer has besides its data: address, function,
// count of bytes and two bytes of check.
const modbusOverhead = 5

// modbusExceptions are the exception codes of the Modbus Application Protocol
// V1.1b3, 7.
var modbusExceptions = map[byte]string{
	1: "illegal function", 2: "illegal data address", 3: "illegal data value", 4: "server device failure",
	5: "acknowledge", 6: "server device busy", 8: "memory parity error",
	10: "gateway path unavailable", 11: "gateway target device failed to respond",
}

// modbusDecoder finds the answers of one device to one question. An answer is a
// packed frame with a header that is known.
type modbusDecoder struct {
	Modbus
	question []byte
	answer   packedDecoder
	seeker
}

// NewDecoder checks the description and returns a decoder for it.
func (m *Modbus) NewDecoder() (Decoder, error) {
	n := registerTypes[m.Type]
	if err := cmp.Or(
		Want(m.Address >= 1 && m.Address <= 247, "address", m.Address, "1 to 247"),
		Want(m.Function == 3 || m.Function == 4, "function", m.Function, "3 or 4"),
		WantOneOf("words", m.Words, "high-first, low-first, ABCD, CDAB, BADC or DCBA"),
		Want(n > 0, "type", m.Type, "int16, uint16, int32, uint32, float32, int64, uint64 or float64"),
		Want(m.Register >= 0 && m.Register+n <= 65536, "register", m.Register, fmt.Sprint("0 to ", 65536-n)),
	); err != nil {
		return nil, err
	}
	d := &modbusDecoder{Modbus: *m, question: m.Request()}
	d.answer.Packed = Packed{Length: modbusOverhead + 2*n, Header: fmt.Sprintf("%02X%02X%02X", m.Address, m.Function, 2*n),
		At: 3, Size: 2 * n, Type: strings.TrimRight(m.Type, "0123456789"), Decimals: m.Decimals, Scale: m.Scale, Checksum: "crc16-modbus"}
	if err := d.answer.compile(); err != nil {
		return nil, err
	}
	d.answer.Order = m.Words
	d.seeker = seeker{most: max(d.answer.Length, len(d.question)), match: d.match}
	return d, nil
}

// registerTypes says how many registers a value of each type takes.
var registerTypes = map[string]int{"int16": 1, "uint16": 1, "int32": 2, "uint32": 2, "float32": 2, "int64": 4, "uint64": 4, "float64": 4}

// Request returns the frame that asks for the value.
func (m *Modbus) Request() []byte {
	b := []byte{byte(m.Address), byte(m.Function), byte(m.Register >> 8), byte(m.Register), 0, byte(registerTypes[m.Type])}
	return modbusCRC.Append(b)
}

// modbusCRC is the check at the end of every frame, low byte first.
var modbusCRC, _ = ChecksumNamed("crc16-modbus")

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
	if b[0] != byte(d.Address) || len(b) < 2 || b[1] != byte(d.Function)|0x80 { // of an exception
		return d.answer.match(b)
	}
	if len(b) < modbusOverhead { // the code stands where the count of bytes does
		return needMore, Frame{}
	}
	if !modbusCRC.Right(b, 0, modbusOverhead-2, false) {
		return noFrame, Frame{}
	}
	return modbusOverhead, Frame{Raw: b[:modbusOverhead], Binary: true, Refused: true,
		Bad: fmt.Sprintf("modbus exception %d (%s)", b[2], cmp.Or(modbusExceptions[b[2]], "unknown"))}
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
