package frame

import (
	"cmp"
	"fmt"
	"math"
)

// mostDecimals bounds the decimal places of a binary frame: a double carries
// 15 decimal digits for certain, so more places could not all be right.
const mostDecimals = 15

// A scaling turns the number in a frame into the value.
type scaling struct {
	decimals       int
	factor, offset float64
}

// newScaling checks what a description says; a factor of 0 means 1.
func newScaling(decimals int, factor, offset float64) (scaling, error) {
	err := cmp.Or(
		Want(decimals >= 0 && decimals <= mostDecimals, "decimals", decimals, fmt.Sprint("0 to ", mostDecimals)),
		Want(finite(factor), "scale", factor, "a finite number"),
		Want(finite(offset), "offset", offset, "a finite number"))
	return scaling{decimals, cmp.Or(factor, 1), offset}, err
}

// value returns raw / 10^decimals * factor + offset. It divides by a power of ten,
// which is exact, so that 123 with three decimals, or scaled by 0.001, is the
// float64 nearest 0.123.
func (s scaling) value(raw float64) float64 {
	raw /= math.Pow10(s.decimals)
	if per := math.Round(1 / s.factor); 1/per == s.factor {
		return raw/per + s.offset
	}
	return raw*s.factor + s.offset
}

// shown returns the digits after the point of a number with so many decimals once
// it is scaled, -1 where the factor hides them.
func (s scaling) shown(decimals int) int {
	if s.factor != 1 {
		return -1
	}
	return decimals
}

// finite is false for NaN and the infinities.
func finite(v float64) bool { return v-v == 0 }
