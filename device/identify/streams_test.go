package identify

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"math"
	"strings"

	"crownlog/device"
	"crownlog/device/frame"
)

// rocking is what a gauge shows while a wheel is rocked, in counts; invented.
func rocking(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = int(math.Round(80 + 75*math.Sin(float64(i)/7)))
	}
	return list
}

// swing crosses zero, to show the sign.
func swing(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = int(math.Round(300 * math.Sin(float64(i)/11)))
	}
	return list
}

// A stream is made from known counts; identifying it must give them back.
type stream struct {
	name     string
	frame    string
	counts   []int
	decimals int // of the value in the frame; -1: the frame does not tell
	unit     string
	make     func(i, count int) []byte
}

func line(format string) func(i, count int) []byte {
	return func(i, count int) []byte {
		s := strings.ReplaceAll(format, "#i", fmt.Sprint(i))
		s = strings.ReplaceAll(s, "#t", fmt.Sprintf("%d.%02d", 100+i/50, i%50*2))
		if strings.Contains(s, "%d") {
			return []byte(fmt.Sprintf(s, count))
		}
		return []byte(fmt.Sprintf(s, float64(count)/1000))
	}
}

var modbusCRC, _ = frame.ChecksumNamed("crc16-modbus")

// sealed adds a checksum of all bytes.
func sealed(kind string, b []byte) []byte {
	sum, _ := frame.ChecksumNamed(kind)
	return sum.Append(b)
}

// sealedFrom adds a checksum that leaves out the first bytes.
func sealedFrom(from int, kind string, b []byte) []byte {
	return append(b[:from:from], sealed(kind, b[from:])...)
}

func bcd(v, size int) []byte {
	b := make([]byte, size)
	for i := size - 1; i >= 0; i-- {
		b[i] = byte(v%10 | v/10%10<<4)
		v /= 100
	}
	return b
}

func sign(v int) byte {
	if v < 0 {
		return 1
	}
	return 0
}

func abs(v int) int { return max(v, -v) }

func modbusFloat(address, function byte, lowFirst bool) func(i, count int) []byte {
	return func(_, count int) []byte {
		v := binary.BigEndian.AppendUint32(nil, math.Float32bits(float32(count)/1000))
		if lowFirst {
			v[0], v[1], v[2], v[3] = v[2], v[3], v[0], v[1]
		}
		return modbusCRC.Append(append([]byte{address, function, 4}, v...))
	}
}

var streams = []stream{
	{"bare decimal, CRLF", device.FrameText, rocking(60), 3, "", line("%.3f\r\n")},
	{"bare decimal, CR", device.FrameText, rocking(60), 3, "", line("%.3f\r")},
	{"bare decimal, LF", device.FrameText, rocking(60), 3, "", line("%.3f\n")},
	{"signed", device.FrameText, swing(60), 3, "", line("%+.3f\r\n")},
	{"padded with zeros", device.FrameText, swing(60), 3, "", line("%+08.3f\r\n")},
	{"padded with spaces", device.FrameText, swing(60), 3, "", line("%9.3f\r\n")},
	{"two decimals", device.FrameText, rocking(60), 2, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%.2f\r\n", float64(c)/100)) }},
	{"whole numbers", device.FrameText, swing(60), 0, "", line("%d\r\n")},
	{"trailing zeros dropped", device.FrameText, rocking(60), 3, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%v\r\n", float64(c)/1000)) }},
	{"decimal comma", device.FrameText, rocking(60), 3, "", func(_, c int) []byte {
		return []byte(strings.Replace(fmt.Sprintf("%.3f\r\n", float64(c)/1000), ".", ",", 1))
	}},
	{"unit mm", device.FrameText, swing(60), 3, "mm", line("%+.3f mm\r\n")},
	{"unit attached", device.FrameText, swing(60), 3, "mm", line("%.3fmm\r\n")},
	{"unit in", device.FrameText, rocking(60), 4, "in", func(_, c int) []byte { return []byte(fmt.Sprintf("%.4f in\r\n", float64(c)/10000)) }},
	{"torque", device.FrameText, rocking(60), 1, "N·m", func(_, c int) []byte { return []byte(fmt.Sprintf("%6.1f N.m\r\n", float64(c)/10)) }},
	{"pressure", device.FrameText, rocking(60), 2, "kPa", func(_, c int) []byte { return []byte(fmt.Sprintf("P=%.2f kPa\r\n", float64(c)/100)) }},
	{"label", device.FrameText, swing(60), 3, "mm", line("CH1: %+.3f mm\r\n")},
	{"two labels", device.FrameText, swing(60), 3, "mm", line("CH1,DIAL=%+09.3fmm\r\n")},
	{"CSV, value first", device.FrameText, swing(60), 3, "", line("%.3f,#i,OK\r\n")},
	{"CSV, value second", device.FrameText, swing(60), 3, "", line("#i,%.3f,OK\r\n")},
	{"CSV, value third of four", device.FrameText, swing(60), 3, "mm", line("#t,A,%.3f,mm\r\n")},
	{"CSV, value last", device.FrameText, swing(60), 3, "", line("#i,#t,7,%.3f\n")},
	{"semicolons and decimal comma", device.FrameText, swing(60), 3, "", func(i, c int) []byte {
		return []byte(fmt.Sprintf("12:30:%02d;%s\r\n", i%60, strings.Replace(fmt.Sprintf("%.3f", float64(c)/1000), ".", ",", 1)))
	}},
	{"tabs", device.FrameText, swing(60), 3, "", line("#i\t%.3f\t20.5 C\r\n")},
	{"clock before the value", device.FrameText, swing(60), 3, "mm", line("12:30:05 %+.3f mm\r\n")},
	{"BCD, sum", device.FramePacked, rocking(60), -1, "", func(_, c int) []byte { return sealed("sum8", append([]byte{0xAA}, bcd(abs(c), 3)...)) }},
	{"BCD, sign byte, xor", device.FramePacked, swing(60), -1, "", func(_, c int) []byte { return sealed("xor8", append([]byte{0x02, sign(c)}, bcd(abs(c), 3)...)) }},
	{"BCD, crc", device.FramePacked, rocking(60), -1, "", func(_, c int) []byte { return sealed("crc16-modbus", append([]byte{0x7E}, bcd(abs(c), 4)...)) }},
	{"int32 low first, crc and counter", device.FramePacked, swing(60), -1, "", func(i, c int) []byte {
		return modbusCRC.Append(append(binary.LittleEndian.AppendUint32([]byte{0xAA, 0x55}, uint32(int32(c*7))), byte(i)))
	}},
	{"int16 high first, lrc", device.FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealed("lrc", binary.BigEndian.AppendUint16([]byte{0x55}, uint16(int16(c))))
	}},
	{"int32 high first, ccitt", device.FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealed("crc16-ccitt", binary.BigEndian.AppendUint32([]byte{0xA5, 0x10}, uint32(int32(c))))
	}},
	{"float, crc", device.FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealed("crc16-xmodem", binary.LittleEndian.AppendUint32([]byte{0xA5}, math.Float32bits(float32(c)/8)))
	}},
	{"Modbus float, function 4", device.FrameModbus, swing(40), 3, "", modbusFloat(1, 4, false)},
	{"Modbus float, function 3, device 17", device.FrameModbus, swing(40), 3, "", modbusFloat(17, 3, false)},
	{"Modbus float, low word first", device.FrameModbus, swing(40), 3, "", modbusFloat(5, 4, true)},
	{"Modbus int16", device.FrameModbus, swing(40), 0, "", func(_, c int) []byte {
		return modbusCRC.Append(binary.BigEndian.AppendUint16([]byte{1, 4, 2}, uint16(int16(c))))
	}},
	{"Modbus int32", device.FrameModbus, swing(40), 0, "", func(_, c int) []byte {
		return modbusCRC.Append(binary.BigEndian.AppendUint32([]byte{1, 3, 4}, uint32(int32(c))))
	}},
	{"STX, int16, lrc without STX, ETX", device.FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return append(sealedFrom(1, "lrc", binary.BigEndian.AppendUint16([]byte{0x02}, uint16(int16(c)))), 0x03)
	}},
	{"two sync bytes outside of the sum", device.FramePacked, swing(60), -1, "", func(_, c int) []byte {
		return sealedFrom(2, "xor8", binary.BigEndian.AppendUint16([]byte{0xD2, 0x77, 0x01}, uint16(int16(c))))
	}},
	{"SCPI NR3", device.FrameText, swing(40), 3, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%+.5E\n", float64(c)/1000)) }},
	{"SCPI NR3, CRLF", device.FrameText, swing(40), 3, "", func(_, c int) []byte { return []byte(fmt.Sprintf("%.4E\r\n", float64(c)/1000)) }},
}

func (s stream) bytes() []byte {
	var b bytes.Buffer
	for i, c := range s.counts {
		b.Write(s.make(i, c))
	}
	return b.Bytes()
}
