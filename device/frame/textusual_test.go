package frame

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Lines that come one by one are read by the short way where the form is a
// simple one with a point, and never else.
func TestTheShortWayIsForSimpleLinesAlone(t *testing.T) {
	for _, tt := range []struct {
		text Text
		in   []string
		want []float64
	}{
		{Text{}, []string{"0.123 mm\n", "0.456 mm\n", "-0.125 mm\n"}, []float64{0.123, 0.456, -0.125}},
		{Text{Column: 2}, []string{"1.0,2.5\n", "3.0,2.5\n"}, []float64{2.5, 2.5}},
		{Text{Pattern: `\d\.(?P<value>.*)`}, []string{"1.05\n", "2.05\n"}, []float64{5, 5}},
		{Text{}, []string{"1.5E3\n", "1.6E3\n"}, []float64{1500, 1600}},
		{Text{}, []string{"X-AXIS: 0.5\n", "X-AXIS: 0.6\n"}, []float64{0.5, 0.6}},
		{Text{Decimal: "comma"}, []string{"1,5\n", "2,5\n"}, []float64{1.5, 2.5}},
	} {
		d := textOf(t, tt.text)
		var got []float64
		for _, line := range tt.in {
			for _, f := range decodeAll(t, d, []byte(line)) {
				require.Empty(t, f.Bad)
				got = append(got, f.Value)
			}
		}
		assert.Equal(t, tt.want, got, "%+v", tt.text)
	}
}

func TestUsualLine(t *testing.T) {
	for _, tt := range []struct {
		before, line string
		size         int // of the line without its end; 0: the long way
		want         number
	}{
		{"0.123 mm\r\n", "-0.450 mm\r\n", 9, number{value: -0.45, digits: 4, decimals: 3, minus: true, trailing: true}},
		{"+0.123\n", "+12.5\n", 5, number{value: 12.5, digits: 3, decimals: 1, plus: true}},
		{"0.1\n", "00.9\n", 4, number{value: 0.9, digits: 3, decimals: 1, padded: true}},
		{"0.1\n", "12345678.9012345\n", 16, number{value: 12345678.9012345, digits: 15, decimals: 7}},
		{"0.1\n", "12345678.90123456\n", 0, number{}},
		{"0.1\n", "0.\n", 0, number{}}, {"0.1\n", ".5\n", 0, number{}}, {"0.1\n", "5\n", 0, number{}}, {"0.1\n", "5", 0, number{}},
		{"0.1\n", "0.2 mm\n", 0, number{}}, {"0.1 mm\n", "0.2\n", 0, number{}}, {"0.1\n", "-", 0, number{}},
		{"5\n", "0.2\n", 0, number{}}, {"D: 0.1\n", "0.2\n", 0, number{}}, {".5\n", ".6\n", 0, number{}},
	} {
		d := textOf(t, Text{}).(*textDecoder)
		require.Len(t, decodeAll(t, d, []byte(tt.before)), 1)
		var f Frame
		var n number
		assert.Equal(t, tt.size, d.usual.read([]byte(tt.line), &f, &n), "%q after %q", tt.line, tt.before)
		if tt.size > 0 {
			assert.Equal(t, tt.want, n)
			assert.Equal(t, tt.want.value, f.Value)
			assert.Equal(t, tt.want.decimals, f.Decimals)
		}
	}
}
