package frame

import (
	"bytes"
	"regexp"
	"strconv"
)

// A number is a decimal number found in text, with what its form tells.
type number struct {
	value    float64
	digits   int // all digits of the mantissa
	decimals int // digits after the point
	plus     bool
	minus    bool
	padded   bool // more than one digit before the point, the first of them 0
	spaced   bool // spaces between the sign and the first digit
	trailing bool // the last digit after the point is 0
	exponent bool
}

// scanNumber reads the decimal number that starts at b[i]: a sign, then
// digits with at most one point or comma among them, then an exponent.
// point and comma say which decimal marks are allowed. It returns the index
// after the number, or -1 if none starts there. The value is the float64
// nearest to the decimal text.
func scanNumber(b []byte, i int, point, comma bool) (n number, end int) {
	var room [32]byte // more than a gauge sends
	clean := room[:0] // without blanks, with a point
	if i < len(b) && isSign(b[i]) {
		n.plus, n.minus = b[i] == '+', b[i] == '-'
		clean = append(clean, b[i])
		for i++; i < len(b) && b[i] == ' '; i++ {
			n.spaced = true
		}
	}
	n.digits = digitsAt(b, i)
	n.padded = n.digits > 1 && b[i] == '0'
	clean = append(clean, b[i:i+n.digits]...)
	i += n.digits
	if i < len(b) && (b[i] == '.' && point || b[i] == ',' && comma && digitAt(b, i+1)) {
		n.decimals = digitsAt(b, i+1)
		n.digits += n.decimals
		clean = append(append(clean, '.'), b[i+1:i+1+n.decimals]...)
		i += 1 + n.decimals
		n.trailing = n.decimals > 0 && b[i-1] == '0'
	}
	if i+1 < len(b) && (b[i] == 'e' || b[i] == 'E') {
		j := i + 1
		if isSign(b[j]) {
			j++
		}
		if power := digitsAt(b, j); power > 0 {
			n.exponent = true
			clean = append(clean, b[i:j+power]...)
			i = j + power
		}
	}
	v, err := strconv.ParseFloat(string(clean), 64)
	if err != nil { // none, or beyond float64
		return number{}, -1
	}
	n.value = v
	return n, i
}

// number reads the number that starts at b[i], in the digits and marks of the
// profile, and returns the index after it, -1 where none does.
func (s *textLine) number(b []byte, i int) (number, int) {
	if s.hex > 0 {
		return s.scanHex(b, i)
	}
	if s.grouped != nil {
		if at := s.grouped.FindIndex(b[i:]); at != nil && !bytes.HasPrefix(b[i+at[1]:], s.mark) {
			n, _ := scanNumber(bytes.ReplaceAll(b[i:i+at[1]], s.mark, nil), 0, s.point, s.comma)
			return n, i + at[1]
		}
	}
	return scanNumber(b, i, s.point, s.comma)
}

// hexForm is a number in hex digits.
var hexForm = regexp.MustCompile(`^(?:0[xX])?([0-9a-fA-F]{1,16})\b`)

// scanHex reads such a number of at most so many bits; of two's complement the
// highest is the sign.
func (s *textLine) scanHex(b []byte, i int) (number, int) {
	m := hexForm.FindSubmatch(b[i:])
	if m == nil || 4*len(m[1]) > s.hex {
		return number{}, -1
	}
	u, _ := strconv.ParseUint(string(m[1]), 16, s.hex) // it fits
	n := number{value: float64(u), digits: len(m[1]), padded: len(m[1]) > 1 && m[1][0] == '0'}
	if shift := 64 - s.hex; s.signed {
		n.value = float64(int64(u<<shift) >> shift)
	}
	return n, i + len(m[0])
}

func digitAt(b []byte, i int) bool { return i < len(b) && b[i]-'0' <= 9 }

// digitsAt returns how many digits begin at b[i].
func digitsAt(b []byte, i int) (n int) {
	for digitAt(b, i+n) {
		n++
	}
	return n
}
