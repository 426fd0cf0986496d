package frame

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// What a profile can say of a line besides the simple form.
func TestLinesOfOtherForms(t *testing.T) {
	const joined = "two numbers run together"
	tests := []struct {
		name string
		text Text
		in   string
		want []string // value and unit of a sound line, the reason of another
	}{
		{"sign letters", Text{Pattern: `(?P<sign>[PN])(?P<value>[\d.]+)`, Words: map[string]string{"P": "plus", "N": "minus"}}, "P0.5\nN0.5\n", []string{"0.5", "-0.5"}},
		{"blanks between columns", Text{Pattern: ` *\d+ +(?P<value>[-+]? *[\d.]+) +[\d.]+`}, "   1   -0.5  21.4\n  12    0.25 21.4\n 13 - 0.75 21.5\n", []string{"-0.5", "0.25", "-0.75"}},
		{"lines that say nothing", Text{Ignore: `-- .*|\?`}, "-- ready --\n0.5\n?\n0.25\n", []string{"0.5", "0.25"}},
		{"scale and offset", Text{Scale: 0.5, Offset: -1}, "3 mm\n", []string{"0.5 mm"}},
		{"thousands", Text{Thousands: ","}, "1,250\n950\n12,000.5\n1,25\n", []string{"1250", "950", "12000.5", "!" + joined}},
		{"thousands and millions", Text{Thousands: "."}, "-1.234.567,25\n1.2345,5\n0.123,4\n+ 1.017,7 kPa\n", []string{"-1234567.25", "!" + joined, "!" + joined, "1017.7 kPa"}},
		{"apostrophes", Text{Thousands: "'"}, "1'250.5\n", []string{"1250.5"}},
		{"hex of two's complement", Text{Hex: "int16", Scale: 0.001}, "00A1 mm\n00a3 mm\nFF38 mm\n00A mm\n8000 mm\n", []string{"0.161 mm", "0.163 mm", "-0.2 mm", "!line is cut or has too many characters", "-32.768 mm"}},
		{"hex without a sign", Text{Hex: "uint16"}, "0xFF38\n7B\n10000\nxyz\n-1\nA1 A2\n", []string{"65336", "123", "!not a number", "!not a number", "!not a number", "!two numbers run together"}},
		{"hex by a pattern", Text{Hex: "int8", Pattern: `D1: (?P<value>\w+) (?P<unit>\w+)`}, "D1: FF um\nD1: 7F um\nD1: fg um\n", []string{"-1 µm", "127 µm", "!not a number"}},
		{"a sign's letter before the number", Text{Words: map[string]string{"N": "minus", "P": "plus"}}, "N 0.5\nP 0.25\nN P 0.5\nN -0.5\n", []string{"-0.5", "0.25", "!sign is not understood", "!sign is not understood"}},
		{"apostrophes and a decimal comma", Text{Thousands: "'", Decimal: "comma"}, "1'250,5\n0,5\n", []string{"1250.5", "0.5"}},
		{"any line end", Text{LineEnd: "|"}, "0.5|0.25|", []string{"0.5", "0.25"}},
		{"line end of two bytes", Text{LineEnd: ";;"}, "0.5;;0.25;;", []string{"0.5", "0.25"}},
		{"STX and ETX alone", Text{LineEnd: "\x03"}, "\x02+0.5\x03\x02+0.25\x03", []string{"0.5", "0.25"}},
	}
	for _, tt := range tests {
		for _, size := range []int{1, 3, 100} {
			t.Run(fmt.Sprintf("%s, in pieces of %d", tt.name, size), func(t *testing.T) {
				d := textOf(t, tt.text)
				var got []string
				for in := tt.in; in != ""; {
					n := min(size, len(in))
					for _, f := range decodeAll(t, d, []byte(in[:n])) {
						said := strings.TrimSpace(strconv.FormatFloat(f.Value, 'f', -1, 64) + " " + f.Unit)
						if f.Bad != "" {
							said = "!" + f.Bad
						}
						got = append(got, said)
					}
					in = in[n:]
				}
				assert.Equal(t, tt.want, got)
			})
		}
	}
	t.Run("a pause ends the line", func(t *testing.T) {
		d := textOf(t, Text{LineEnd: "idle"})
		assert.Empty(t, decodeAll(t, d, []byte("0.")))
		var got []float64
		d.Feed(time.Time{}, []byte("25 mm"), func(f *Frame) { got = append(got, f.Value) })
		assert.Empty(t, got)
		d.Flush()
		assert.Equal(t, []float64{0.25}, got)
	})
}
