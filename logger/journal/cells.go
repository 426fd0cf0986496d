package journal

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// formulaStarts are the first characters that make a spreadsheet run a cell
// instead of showing it, with their full-width forms.
const formulaStarts = "=+-@\t\r＝＋－＠"

// GuardText makes a text cell safe to open in a spreadsheet: one that would be
// run as a formula gets an apostrophe in front. Text that begins with an
// apostrophe gets one more, so that unguardText gives back every string.
// Control characters become spaces. A plain number stays as it is.
func GuardText(s string) string {
	s = oneLine(s)
	if s == "" {
		return s
	}
	first, _ := utf8.DecodeRuneInString(s)
	if first == '\'' || (strings.ContainsRune(formulaStarts, first) && !plainNumber(s)) {
		return "'" + s
	}
	return s
}

// unguardText undoes guardText. One apostrophe goes, whatever stands behind it:
// a text with one of its own was given a second.
func UnguardText(s string) string { return strings.TrimPrefix(s, "'") }

// plainNumber reports whether s is a sign, digits and at most one point or
// comma: a spreadsheet shows that as a number and runs nothing.
func plainNumber(s string) bool {
	digits, points := 0, 0
	for i, c := range s {
		switch {
		case c >= '0' && c <= '9':
			digits++
		case c == '.' || c == ',':
			points++
		case (c == '+' || c == '-') && i == 0:
		default:
			return false
		}
	}
	return digits > 0 && points <= 1
}

// oneLine replaces each run of control characters or broken UTF-8 by a space.
func oneLine(s string) string {
	if strings.IndexFunc(s, unwanted) < 0 {
		return s
	}
	var b strings.Builder
	gap := false
	for _, r := range s {
		if unwanted(r) {
			gap = true
			continue
		}
		if gap && b.Len() > 0 {
			b.WriteByte(' ')
		}
		gap = false
		b.WriteRune(r)
	}
	return b.String()
}

// unwanted is what would break a line of the journal or hide in it: controls,
// what stands for broken UTF-8, and the line and paragraph separators, at which
// some programs break lines.
func unwanted(r rune) bool {
	return unicode.IsControl(r) || r == utf8.RuneError || r == '\u2028' || r == '\u2029'
}

// escapeRaw writes what a gauge sent so that one line holds it whatever the
// bytes: what oneLine would drop as \xNN, the backslash doubled.
func escapeRaw(s string) string {
	plain := true
	for i := 0; plain && i < len(s); i++ {
		plain = s[i] >= 0x20 && s[i] < 0x7f && s[i] != '\\'
	}
	if plain {
		return s
	}
	var b strings.Builder
	for i := 0; i < len(s); {
		r, n := utf8.DecodeRuneInString(s[i:])
		switch {
		case r == '\\':
			b.WriteString(`\\`)
		case unwanted(r):
			for _, c := range []byte(s[i : i+n]) {
				fmt.Fprintf(&b, `\x%02x`, c)
			}
		default:
			b.WriteRune(r)
		}
		i += n
	}
	return b.String()
}

var errBadEscape = errors.New("unknown escape in raw text")

// unescapeRaw undoes escapeRaw.
func unescapeRaw(s string) (string, error) {
	if strings.IndexByte(s, '\\') < 0 {
		return s, nil
	}
	b := make([]byte, 0, len(s))
	for i := 0; i < len(s); i++ {
		if s[i] != '\\' {
			b = append(b, s[i])
			continue
		}
		switch {
		case i+1 < len(s) && s[i+1] == '\\':
			b = append(b, '\\')
			i++
		case i+3 < len(s) && s[i+1] == 'x':
			c, err := strconv.ParseUint(s[i+2:i+4], 16, 8)
			if err != nil {
				return "", errBadEscape
			}
			b = append(b, byte(c))
			i += 3
		default:
			return "", errBadEscape
		}
	}
	return string(b), nil
}

// AppendNumber writes v with the fewest digits that read back as v; NaN is an
// empty cell.
func AppendNumber(dst []byte, v float64) []byte {
	if math.IsNaN(v) {
		return dst
	}
	if v == 0 {
		return append(dst, '0') // without the sign of a negative zero
	}
	// Nothing measured is that small or large; written out it would be a row of
	// zeros, or more digits than a float64 has (2^53 is 9e15).
	if a := math.Abs(v); a < 1e-9 || a >= 1e15 {
		return strconv.AppendFloat(dst, v, 'g', -1, 64)
	}
	return strconv.AppendFloat(dst, v, 'f', -1, 64)
}

// parseNumber reads what appendNumber wrote; an empty cell is NaN. The words for
// not-a-number and infinity, which strconv reads, are no numbers here: they were
// never written, and would pass for a missing or a real value.
func parseNumber(s string) (float64, error) {
	if s == "" {
		return math.NaN(), nil
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("not a number: %q", s)
	}
	return v, nil
}

// AppendTime writes t in UTC as RFC 3339 with nanoseconds; the zero time is an
// empty cell.
func AppendTime(dst []byte, t time.Time) []byte {
	if t.IsZero() {
		return dst
	}
	return t.UTC().AppendFormat(dst, time.RFC3339Nano)
}

// parseTime reads what appendTime wrote. UTC keeps captures of one job comparable
// where the clock of the computer was set to another zone meanwhile.
func parseTime(s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("not a time: %q", s)
	}
	return t.UTC(), nil
}

// quotedLength is how much of a cell or a line a message repeats, in letters.
const quotedLength = 60

// CutLong keeps a text from a file short enough for one line of a message.
func CutLong(s string) string {
	r := []rune(s)
	if len(r) <= quotedLength {
		return s
	}
	return string(r[:quotedLength]) + "…"
}
