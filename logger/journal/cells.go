package journal

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
	"unique"
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
	first, _ := utf8.DecodeRuneInString(s)
	if first == '\'' || (strings.ContainsRune(formulaStarts, first) && !plainNumber.MatchString(s)) {
		return "'" + s
	}
	return s
}

// unguardText undoes guardText. One apostrophe goes, whatever stands behind it:
// a text with one of its own was given a second.
func unguardText(s string) string { return strings.TrimPrefix(s, "'") }

// plainNumber is a sign, digits and at most one point or comma: a spreadsheet
// shows that as a number and runs nothing.
var plainNumber = regexp.MustCompile(`^[+-]?([0-9]+[.,]?[0-9]*|[.,][0-9]+)$`)

// oneLine replaces each run of control characters or broken UTF-8 by a space.
func oneLine(s string) string {
	if strings.IndexFunc(s, unwanted) < 0 {
		return s
	}
	return strings.Join(strings.FieldsFunc(s, unwanted), " ")
}

// unwanted is what would break a line of the journal or hide in it: controls,
// what stands for broken UTF-8, the line and paragraph separators, at which
// some programs break lines, and the controls that make text stand in another
// order than it has (UAX 9, 2.1 to 2.4).
func unwanted(r rune) bool {
	return unicode.IsControl(r) || r == utf8.RuneError || r == '\u2028' || r == '\u2029' || unicode.Is(unicode.Bidi_Control, r)
}

// escapeRaw writes what a gauge sent so that one line holds it whatever the
// bytes: what oneLine would drop as \xNN, the backslash doubled.
func escapeRaw(s string) string {
	if strings.IndexFunc(s, func(r rune) bool { return r == '\\' || unwanted(r) }) < 0 {
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

// escapeForm is an escape that escapeRaw writes, or a backslash that it does not.
var escapeForm = regexp.MustCompile(`\\(?:\\|x[0-9a-fA-F]{2})?`)

// unescapeRaw undoes escapeRaw, and refuses what escapeRaw does not write.
func unescapeRaw(s string) (string, error) {
	var err error
	plain := escapeForm.ReplaceAllStringFunc(s, func(escape string) string {
		switch escape {
		case `\`:
			err = errBadEscape
			return ""
		case `\\`:
			return `\`
		}
		code, _ := strconv.ParseUint(escape[len(`\x`):], 16, 8) // two hex digits
		return string([]byte{byte(code)})
	})
	if err != nil {
		return "", err
	}
	return plain, nil
}

// AppendNumber writes v with the fewest digits that read back as v; NaN is an
// empty cell.
func AppendNumber(dst []byte, v float64) []byte {
	if math.IsNaN(v) {
		return dst
	}
	// Nothing measured is that small or large; written out it would be a row of
	// zeros, or more digits than a float64 has (2^53 is 9e15).
	form := byte('f')
	if a := math.Abs(v); a < 1e-9 || a >= 1e15 {
		form = 'g'
	}
	return strconv.AppendFloat(dst, v+0, form, -1, 64) // + 0 takes the sign off a negative zero
}

// AppendTime writes t in UTC as RFC 3339 with nanoseconds; the zero time is an
// empty cell.
func AppendTime(dst []byte, t time.Time) []byte { return appendZoned(dst, t.UTC()) }

// appendZoned writes t in its own zone as RFC 3339 with nanoseconds; the zero
// time is an empty cell.
func appendZoned(dst []byte, t time.Time) []byte {
	if t.IsZero() {
		return dst
	}
	return t.AppendFormat(dst, time.RFC3339Nano)
}

// zoned is t as it is read back: to the nanosecond, in a zone that is an offset
// from UTC and no more.
func zoned(t time.Time) time.Time {
	t = t.Round(0)
	if _, offset := t.Zone(); offset/60 != 0 {
		return t.In(time.FixedZone("", offset/60*60)) // RFC 3339 has minutes
	}
	return t.UTC()
}

// A cellReader takes the cells of a line one after the other, in the order they
// were written, and keeps the first thing that is wrong with one.
type cellReader struct {
	cells []string
	err   error

	cell, words string // the text read last
}

func (r *cellReader) raw() string {
	cell := r.cells[0]
	r.cells = r.cells[1:]
	return cell
}

func (r *cellReader) fail(format string, args ...any) {
	if r.err == nil {
		r.err = fmt.Errorf(format, args...)
	}
}

// text is without what unwanted names, which this program does not write.
// It is the same string for the same words, so that a long journal stays small
// in memory: a piece of each line would keep all of it there.
func (r *cellReader) text() string {
	if cell := r.raw(); cell != r.cell {
		r.cell, r.words = cell, unique.Make(oneLine(unguardText(cell))).Value()
	}
	return r.words
}

func (r *cellReader) whole() int {
	s := r.raw()
	v, err := strconv.Atoi(s)
	if err != nil {
		r.fail("not a whole number: %q", s)
	}
	return v
}

// number reads what AppendNumber wrote; an empty cell is NaN. The words for
// not-a-number and infinity, which strconv reads, are no numbers here: they were
// never written, and would pass for a missing or a real value.
func (r *cellReader) number() float64 {
	s := r.raw()
	if s == "" {
		return math.NaN()
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		r.fail("not a number: %q", s)
	}
	return v
}

// time reads what AppendTime or appendZoned wrote, in the zone it was written in:
// what the clock on the wall said where the measurement was made.
func (r *cellReader) time() time.Time {
	s := r.raw()
	if s == "" {
		return time.Time{}
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		r.fail("not a time: %q", s)
	}
	return zoned(t)
}
