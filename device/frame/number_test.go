package frame

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestScanNumber(t *testing.T) {
	for _, tt := range []struct {
		in   string
		want number
		end  int // -1: no number
	}{
		{"+0", number{digits: 1, plus: true}, 2},
		{"-07", number{value: -7, digits: 2, minus: true, padded: true}, 3},
		{"- 0.50 mm", number{value: -0.5, digits: 3, decimals: 2, minus: true, spaced: true, trailing: true}, 6},
		{"10.", number{value: 10, digits: 2}, 3},
		{".05", number{value: 0.05, digits: 2, decimals: 2}, 3},
		{"1,5", number{value: 1.5, digits: 2, decimals: 1}, 3},
		{"1,", number{value: 1, digits: 1}, 1},
		{"1,5,2", number{value: 1.5, digits: 2, decimals: 1}, 3},
		{"0.123456789012", number{value: 0.123456789012, digits: 13, decimals: 12}, 14},
		{"123456789.012345", number{value: 123456789.012345, digits: 15, decimals: 6}, 16},
		{"0.1234567890123456", number{value: 0.1234567890123456, digits: 17, decimals: 16}, 18},
		{"-1234567890123456789012", number{value: -1234567890123456789012, digits: 22, minus: true}, 23},
		{"1,5e+2", number{value: 150, digits: 2, decimals: 1, exponent: true}, 6},
		{"1e", number{value: 1, digits: 1}, 1},
		{"1e+", number{value: 1, digits: 1}, 1},
		{"1E5", number{value: 1e5, digits: 1, exponent: true}, 3},
		{"1e999", number{}, -1}, {"", number{}, -1}, {"+", number{}, -1}, {"x1", number{}, -1}, {".", number{}, -1},
	} {
		got, end := scanNumber([]byte(tt.in), 0, true, true)
		assert.Equal(t, tt.end, end, tt.in)
		assert.Equal(t, tt.want, got, tt.in)
	}
	got, end := scanNumber([]byte("1.5"), 0, false, true)
	assert.Equal(t, number{value: 1, digits: 1}, got, "a point is no mark here")
	assert.Equal(t, 1, end)
}
