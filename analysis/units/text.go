package units

import (
	"fmt"
	"strconv"
	"strings"
)

// Short writes a value with at most four decimals and no trailing zeros.
func Short(v float64) string {
	s := strconv.FormatFloat(v, 'f', 4, 64)
	s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	if s == "-0" {
		return "0"
	}
	return s
}

// Counted writes "1 notch" or "3 notches".
func Counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}
