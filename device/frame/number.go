package frame

import (
	"bytes"
	"regexp"
	"strconv"
	"strings"
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

// shown is how many digits after the point a display has, -1 where the form
// with an exponent does not tell.
func (n number) shown() int {
	if n.exponent {
		return -1
	}
	return n.decimals
}

// mostExact is how many decimal digits a whole number may have and still be a
// float64 exactly, whatever they are: 10^15 < 2^53.
const mostExact = 15

// pow10 are the powers of ten that such a number can need. Two exact numbers
// divide to the float64 nearest to the quotient, so a mantissa of
// up to mostExact digits over one of these is as good as strconv.ParseFloat.
// Source: W. D. Clinger, How to Read Floating Point Numbers Accurately, 1990.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15}

// scanNumber reads the decimal number that starts at b[i]: a sign, then
// digits with at most one point or comma among them, then an exponent.
// point and comma say which decimal marks are allowed. It returns the index
// after the number, or -1 if none starts there. The value is the float64
// nearest to the decimal text.
func scanNumber(b []byte, i int, point, comma bool) (number, int) {
	var n number
	start := i
	if i < len(b) && (b[i] == '+' || b[i] == '-') {
		n.plus, n.minus = b[i] == '+', b[i] == '-'
		i++
		for i < len(b) && b[i] == ' ' {
			n.spaced = true
			i++
		}
	}
	var mantissa uint64
	first := i
	mark := -1
	for i < len(b) {
		c := b[i]
		if d := c - '0'; d <= 9 {
			if n.digits < 18 { // one with more is read the slow way; this keeps it from wrapping
				mantissa = mantissa*10 + uint64(d)
			}
			n.digits++
		} else if mark < 0 && (c == '.' && point || c == ',' && comma && digitAt(b, i+1)) {
			mark = i
		} else {
			break
		}
		i++
	}
	if n.digits == 0 {
		return number{}, -1
	}
	whole := i - first
	if mark >= 0 {
		whole = mark - first
		n.decimals = i - mark - 1
		n.trailing = n.decimals > 0 && b[i-1] == '0'
	}
	n.padded = whole > 1 && b[first] == '0'
	if i+1 < len(b) && (b[i] == 'e' || b[i] == 'E') {
		j := i + 1
		if b[j] == '+' || b[j] == '-' {
			j++
		}
		if digitAt(b, j) {
			for digitAt(b, j) {
				j++
			}
			i, n.exponent = j, true
		}
	}
	if n.exponent || n.digits > mostExact {
		return slowNumber(b[start:i], n, i)
	}
	n.value = float64(mantissa) / pow10[n.decimals]
	if n.minus {
		n.value = -n.value
	}
	return n, i
}

// grouped are numbers with marks between their thousands, by the mark. The first
// digit is no nought, and behind the groups may stand the other decimal mark.
var grouped = map[byte]*regexp.Regexp{
	',':  regexp.MustCompile(`^[-+]? *[1-9]\d{0,2}(,\d{3})+\b(\.\d+)?`),
	'.':  regexp.MustCompile(`^[-+]? *[1-9]\d{0,2}(\.\d{3})+\b(,\d+)?`),
	'\'': regexp.MustCompile(`^[-+]? *[1-9]\d{0,2}('\d{3})+\b(\.\d+)?`),
}

// scanGrouped reads such a number at b[i] and returns the index after it, -1
// where there is none.
func scanGrouped(b []byte, i int, mark byte) (number, int) {
	at := grouped[mark].FindIndex(b[i:])
	if at == nil || i+at[1] < len(b) && b[i+at[1]] == mark {
		return number{}, -1
	}
	clean := bytes.ReplaceAll(b[i:i+at[1]], []byte{mark}, nil)
	n, _ := scanNumber(clean, 0, mark != '.', mark == '.')
	return n, i + at[1]
}

// slowNumber converts what does not fit the exact short way.
func slowNumber(text []byte, n number, end int) (number, int) {
	clean := strings.NewReplacer(" ", "", ",", ".").Replace(string(text))
	v, err := strconv.ParseFloat(clean, 64)
	if err != nil { // beyond float64
		return number{}, -1
	}
	n.value = v
	return n, end
}

func digitAt(b []byte, i int) bool { return i < len(b) && b[i]-'0' <= 9 }
