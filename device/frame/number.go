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

// shown is how many digits after the point a display has, -1 where the form
// with an exponent does not tell.
func (n number) shown() int {
	if n.exponent {
		return -1
	}
	return n.decimals
}

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
	first := i
	i += digitsAt(b, i)
	whole := i - first
	if i < len(b) && (b[i] == '.' && point || b[i] == ',' && comma && digitAt(b, i+1)) {
		n.decimals = digitsAt(b, i+1)
		i += 1 + n.decimals
	}
	if n.digits = whole + n.decimals; n.digits == 0 {
		return number{}, -1
	}
	n.trailing = n.decimals > 0 && b[i-1] == '0'
	n.padded = whole > 1 && b[first] == '0'
	if i+1 < len(b) && lower(b[i]) == 'e' {
		j := i + 1
		if b[j] == '+' || b[j] == '-' {
			j++
		}
		if power := digitsAt(b, j); power > 0 {
			i, n.exponent = j+power, true
		}
	}
	var room [32]byte // more than a gauge sends
	clean := room[:0]
	for _, c := range b[start:i] {
		if c == ',' {
			c = '.'
		}
		if c != ' ' {
			clean = append(clean, c)
		}
	}
	var err error
	if n.value, err = strconv.ParseFloat(string(clean), 64); err != nil { // beyond float64
		return number{}, -1
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

func digitAt(b []byte, i int) bool { return i < len(b) && b[i]-'0' <= 9 }

// digitsAt returns how many digits begin at b[i].
func digitsAt(b []byte, i int) (n int) {
	for digitAt(b, i+n) {
		n++
	}
	return n
}
