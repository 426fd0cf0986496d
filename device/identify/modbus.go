package identify

import (
	"encoding/binary"
	"math"
	"math/bits"

	"crownlog/device"
	"crownlog/device/frame"
)

// modbusCandidates finds answers of Modbus RTU devices by their checks.
func modbusCandidates(b []byte) []candidate {
	crc, _ := frame.ChecksumNamed("crc16-modbus")
	type shape struct{ address, function, count byte }
	seen := map[shape][][]byte{}
	const shortest = 7 // bytes: address, function, count, one register, check
	for i := 0; i+shortest <= len(b); i++ {
		fn, count := b[i+1], b[i+2]
		n := 5 + int(count)
		if b[i] == 0 || b[i] > 247 || fn != 3 && fn != 4 || count != 2 && count != 4 || i+n > len(b) {
			continue
		}
		if crc.Right(b[i:i+n], 0, n-2, false) {
			s := shape{b[i], fn, count}
			seen[s] = append(seen[s], b[i+3:i+n-2])
			i += n - 1
		}
	}
	var list []candidate
	for s, data := range seen {
		if len(data) < leastFrames {
			continue
		}
		m := frame.Modbus{Address: int(s.address), Function: int(s.function)}
		m.Type, m.Words = registerType(data)
		p := device.Profile{Name: "heard-modbus", Title: "Modbus RTU answers, found by listening", Mode: device.ModeAsked, Frame: device.FrameModbus, Modbus: &m}
		list = append(list, candidate{p, 10})
	}
	return list
}

// registerType guesses what registers hold: two are a float if all of them
// are of a size that a gauge shows, in one word order or the other. An integer
// of two registers is small for a gauge, so its higher register is all zeros,
// or all ones where it is negative.
func registerType(data [][]byte) (kind, words string) {
	if len(data[0]) == 2 {
		return "int16", ""
	}
	high, low := true, true
	for _, d := range data {
		high = high && gaugeFloat(binary.BigEndian.Uint32(d))
		low = low && gaugeFloat(bits.RotateLeft32(binary.BigEndian.Uint32(d), 16))
	}
	switch {
	case high:
		return "float32", ""
	case low:
		return "float32", "low-first"
	case data[0][0] == 0 || data[0][0] == 0xFF:
		return "int32", ""
	}
	return "int32", "low-first"
}

// gaugeFloat reports whether the bits are zero or a single-precision float
// between a ten-millionth and ten million: no gauge shows less or more in its
// unit, while small integers read as floats are far below and text far above.
func gaugeFloat(b uint32) bool {
	if b<<1 == 0 {
		return true
	}
	v := math.Abs(float64(math.Float32frombits(b)))
	return v >= 1e-7 && v <= 1e7
}
