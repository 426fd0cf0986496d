package report

import (
	"math"
	"strconv"
)

// A Number is a float64 that JSON shows with nine significant digits, or as
// null where there is none (NaN or infinite).
type Number float64

// MarshalJSON implements json.Marshaler.
func (n Number) MarshalJSON() ([]byte, error) {
	v := float64(n)
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return []byte("null"), nil
	}
	v, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 9, 64), 64)
	if err != nil {
		return nil, err
	}
	format := byte('f')
	if a := math.Abs(v); a != 0 && (a < 1e-6 || a >= 1e15) {
		format = 'g'
	}
	return strconv.AppendFloat(nil, v, format, -1, 64), nil
}
