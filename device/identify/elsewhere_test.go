package identify_test

import (
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device/identify"
)

// pushed is what a gauge shows that is left alone, pushed in and let out again,
// through 0 where it begins below; in counts, invented.
func pushed(from, to int) []int {
	var list []int
	for _, leg := range [][3]int{{from, from, 8}, {from, to, 14}, {to, to, 6}, {to, from / 3, 9}, {from / 3, from / 3, 5}, {from / 3, to / 2, 9}} {
		for k := range leg[2] {
			part := float64(k+1) / float64(leg[2])
			part *= part * (3 - 2*part)
			list = append(list, leg[0]+int(math.Round(part*float64(leg[1]-leg[0])))+len(list)%3%2)
		}
	}
	return list
}

// What a value needs stands elsewhere, or as much speaks for another: no answer.
func TestWhatIsNotSaidIsAsked(t *testing.T) {
	v := func(c int) float64 { return float64(c) / 1000 }
	below := func(c int) int { return map[bool]int{true: 1}[c < 0] }
	hexCounts := func(c int) []byte { b, _ := hex.DecodeString(fmt.Sprintf("%08d", c)); return b }
	modbus := func(registers ...byte) []byte {
		return crcSeal(16, 0x8005, 0xFFFF, true, 0, false)(append([]byte{7, 3, byte(len(registers))}, registers...))
	}
	for _, c := range []struct {
		name     string
		from, to int
		frame    func(i, c int) []byte
		why      string // among the notes; "": there is no proposal
	}{
		{"the unit behind the limit", 12, 4980, func(_, c int) []byte { return fmt.Appendf(nil, "%.3f/12.700 mm\r\n", v(c)) }, "the unit mm stands behind another number"},
		{"the unit behind the last of three", 8, 171, func(_, c int) []byte { return fmt.Appendf(nil, "D %.3f LO -0.050 HI 0.250 mm\r\n", v(c)) }, "the unit mm stands behind another number"},
		{"parts of an inch", 8, 171, func(_, c int) []byte { return fmt.Appendf(nil, "%d/64 in\r\n", c) }, "the unit in stands behind another number"},
		{"hundredths", 8, 171, func(_, c int) []byte { return fmt.Appendf(nil, "%d 1/100mm\r\n", c) }, "the unit mm stands behind another number"},
		{"percent", 8, 903, func(_, c int) []byte { return fmt.Appendf(nil, "%.1f %%\r\n", 100*v(c)) }, ""},
		{"a temperature alone", 8, 30, func(_, c int) []byte { return fmt.Appendf(nil, "%.1f C\r\n", 22+v(100*c)) }, ""},
		{"a point between blanks", 8, 171, func(_, c int) []byte { return fmt.Appendf(nil, "+000 . %03d\r\n", c) }, ""},
		{"a digit for the sign", -310, 420, func(_, c int) []byte { return fmt.Appendf(nil, "%d,%07.3f\r\n", below(c), math.Abs(v(c))) }, "may be the sign"},
		{"minus before the unit", -310, 420, func(_, c int) []byte {
			return fmt.Appendf(nil, "%smm %.3f\r\n", map[bool]string{true: "-", false: "+"}[c < 0], math.Abs(v(c)))
		}, ""},
		{"a copy of half the size", -310, 420, func(_, c int) []byte {
			return modbus(binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(nil, uint16(c)), uint16(c/2))...)
		}, "the unit cannot be seen"},
		{"two that move as far", -310, 420, func(i, c int) []byte {
			return modbus(binary.BigEndian.AppendUint16(binary.BigEndian.AppendUint16(nil, uint16(c)), uint16(300*math.Sin(float64(i)/6)))...)
		}, "the unit cannot be seen"},
		{"a register for the sign", -310, 420, func(_, c int) []byte {
			return modbus(0, byte(below(c)), byte(max(c, -c)>>8), byte(max(c, -c)))
		}, "the unit cannot be seen"},
		{"registers of decimal digits", 12, 4980, func(_, c int) []byte { return modbus(hexCounts(c)...) }, "the unit cannot be seen"},
		{"the sign in the last half byte", -310, 420, func(_, c int) []byte {
			b, _ := hex.DecodeString(fmt.Sprintf("E2%05d%c", max(c, -c), "CD"[below(c)]))
			return sumSeal(0)(b)
		}, "the decimal point and the unit cannot be seen"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var b []byte
			for i, count := range pushed(c.from, c.to) {
				b = append(b, c.frame(i, count)...)
			}
			found := identify.Bytes(b, 0)
			if c.why == "" {
				assert.Empty(t, found)
				return
			}
			require.NotEmpty(t, found)
			assert.False(t, found[0].Sure(), "margin %v, %v", found[0].Margin, found[0].Samples)
			require.NotEmpty(t, found[0].Notes)
			assert.Contains(t, found[0].Notes[0], c.why)
		})
	}
}

// And what stands beside a value without being part of it does no harm.
func TestWhatStandsBesideDoesNotMatter(t *testing.T) {
	for name, line := range map[string]func(i int, v float64) string{
		"a name that is a unit": func(i int, v float64) string { return fmt.Sprintf("{\"id\":12,\"mm\":%.3f,\"T\":%d}\n", v, 20+i%2) },
		"a state of one digit":  func(i int, v float64) string { return fmt.Sprintf("%d,%.3f\r\n", i/9%2, v) },
	} {
		t.Run(name, func(t *testing.T) {
			var b []byte
			for i, c := range pushed(12, 4980) {
				b = append(b, line(i, float64(c)/1000)...)
			}
			found := identify.Bytes(b, 0)
			require.NotEmpty(t, found)
			assert.True(t, found[0].Sure(), found[0].Notes)
			assert.Less(t, found[0].Samples[1].Value, 0.1)
		})
	}
}
