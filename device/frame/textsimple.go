package frame

import (
	"bytes"
	"regexp"
)

// A simpleLine reads "words number words" lines:
//
//	line    = { gap | label | unit | state } number { gap | unit | state }
//	label   = word ( ":" | "=" ) | "CH" digits
//	gap     = space | tab | "," | ";"
//
// Whatever else stands in a line makes it garbled: with no checksum, a number
// is believed only if all that surrounds it is understood.
type simpleLine struct {
	channel      string // of a line read by a pattern
	point, comma bool
	thousands    byte // mark between thousands; 0: none
	words        map[string]string
	battery      bool // a battery word stands before the number: it may be its voltage
}

// Meanings of the words around a number.
const (
	wordHold    = "hold"
	wordBattery = "low-battery"
	wordOver    = "over"
	wordIgnore  = "ignore"
	wordPlus    = "plus" // of a sign
	wordMinus   = "minus"
)

// wordFlags are the flags a word raises.
var wordFlags = map[string]Flags{wordHold: FlagHold, wordBattery: FlagLowBattery, wordOver: FlagOverRange}

// stateWords, in the spellings that displays and manuals use, are understood in any text line, besides the units.
var stateWords = map[string]string{
	"hold": wordHold, "hld": wordHold,
	"lobat": wordBattery, "lowbat": wordBattery, "lobatt": wordBattery, "lowbatt": wordBattery,
	"ol": wordOver, "over": wordOver, "overrange": wordOver,
}

// Why the number in a line is not taken.
const (
	errorMessage = "error message of the gauge"
	notMeasured  = "number that is no measured value"
)

// errorWords begin a message about the gauge itself. The number behind one is
// a code, never a measured value.
var errorWords = map[string]bool{"e": true, "er": true, "err": true, "error": true, "fail": true, "failed": true, "fault": true, "alarm": true}

// otherWords label a number that is not what is measured, even with a colon:
// the battery, a calibration, a serial number, a version.
var otherWords = map[string]bool{
	"low": true, "lo": true, "bat": true, "batt": true, "battery": true, "cal": true,
	"sn": true, "id": true, "no": true, "ver": true, "version": true, "rev": true, "v": true, "fw": true, "sw": true, "hw": true,
}

// read decodes a trimmed line that is not empty.
func (s *simpleLine) read(line []byte) (Frame, number) {
	var f Frame
	s.battery = false
	i := s.prefix(line, &f)
	if f.Bad != "" {
		return f, number{}
	}
	if i == len(line) {
		f.Bad = "no number in the line"
		if f.Flags&FlagOverRange != 0 {
			f.Bad = "over range"
		}
		return f, number{}
	}
	n, next := s.number(line, i)
	if next < 0 {
		f.Bad = "not a number"
		return f, number{}
	}
	next = signBehind(line, next, &n)
	f.Value = n.value
	s.suffix(line, next, &f)
	if s.battery && f.Unit == "" && f.Bad == "" {
		f.Bad = notMeasured
	}
	return f, n
}

// number reads the number that starts at b[i] and returns the index after it,
// -1 where none does.
func (s *simpleLine) number(b []byte, i int) (number, int) {
	if s.thousands != 0 {
		if n, end := scanGrouped(b, i, s.thousands); end > 0 {
			return n, end
		}
		return scanNumber(b, i, s.thousands != '.', s.thousands == '.')
	}
	return scanNumber(b, i, s.point, s.comma)
}

// signed gives a number that was read without a sign the one that stands apart
// from it: "+", "-" or a word of the profile; nothing is none.
func (s *simpleLine) signed(n *number, f *Frame, sign []byte) {
	word := string(sign)
	switch {
	case word == "" || f.Bad != "":
	case n.plus || n.minus:
		f.Bad = "sign is not understood"
	case word == "+" || s.words[word] == wordPlus:
		n.plus = true
	case word == "-" || s.words[word] == wordMinus:
		n.minus, f.Value = true, -f.Value
	default:
		f.Bad = "sign is not understood"
	}
}

// signBehind reads a sign after an unsigned number, as in "0.012 - mm", and
// returns the index after it. With more than a blank or the end behind it, it is
// none.
func signBehind(line []byte, i int, n *number) int {
	j := i
	for j < len(line) && line[j] == ' ' {
		j++
	}
	if n.plus || n.minus || j >= len(line) || line[j] != '+' && line[j] != '-' || j+1 < len(line) && !isGap(line[j+1]) {
		return i
	}
	n.plus, n.minus = line[j] == '+', line[j] == '-'
	if n.minus {
		n.value = -n.value
	}
	return j + 1
}

// prefix reads the words before the number and returns where it starts. A word
// must be known, or be a label that ends in a colon or an equals sign.
func (s *simpleLine) prefix(line []byte, f *Frame) int {
	i := 0
	for i < len(line) && f.Bad == "" {
		switch c := line[i]; {
		case (c == '+' || c == '-') && i+1 < len(line) && isLetter(line[i+1]): // of a word, as in "-OL"
			i++
		case digitAt(line, i), c == '+', c == '-', c == '.':
			return i
		case c == ',' && s.comma && digitAt(line, i+1):
			if i == 0 || !isLetter(line[i-1]) && !digitAt(line, i-1) {
				return i
			}
			if n, _ := scanNumber(line, i+1, true, false); n.decimals == 0 {
				f.Bad = "comma may be the decimal mark"
			}
			i++
		case isGap(c) || c == ':' || c == '=':
			i++
		case isLetter(c) || c == '#' || c == '$':
			j := i + len(labelForm.Find(line[i:]))
			if j < len(line) && !isGap(line[j]) && line[j] != ':' && line[j] != '=' && line[j] != '+' && line[j] != '-' {
				f.Bad = stray(line[j])
				return j
			}
			s.label(line, i, j, f)
			i = j
		default:
			f.Bad = stray(c)
		}
	}
	return i
}

// label reads the word at line[i:j], before the number.
func (s *simpleLine) label(line []byte, i, j int, f *Frame) {
	word := line[i:j]
	if m := s.meaning(word); m != "" {
		f.heed(m)
		s.battery = s.battery || m == wordBattery && s.words[string(word)] == ""
		return
	}
	kind := bytes.ToLower(letterForm.Find(word))
	named := j
	for named < len(line) && line[named] == ' ' {
		named++
	}
	switch {
	case errorWords[string(kind)]:
		f.Bad = errorMessage
	case otherWords[string(kind)]:
		f.Bad = notMeasured
	case named < len(line) && (line[named] == ':' || line[named] == '='),
		len(kind) < len(word) && string(kind) == "ch": // a label
	case bytes.ContainsAny(line[j:], "0123456789"):
		f.Bad = "unknown word before the number"
	}
}

// A word before the number, and the letters it begins with.
var (
	labelForm  = regexp.MustCompile(`^.(?:[\w#]|[-.][a-zA-Z])*`)
	letterForm = regexp.MustCompile(`^[a-zA-Z]*`)
)

// suffix reads the words after the number.
func (s *simpleLine) suffix(line []byte, i int, f *Frame) {
	if i < len(line) && (line[i] == '.' || line[i] == '-') {
		f.Bad = stray(line[i])
		return
	}
	for i < len(line) {
		c := line[i]
		if isGap(c) {
			i++
			continue
		}
		j := wordEnd(line, i)
		if k := j; k < len(line) && !isGap(line[k]) { // "kgf/cm2", "inH2O"
			for k < len(line) && !isGap(line[k]) {
				k++
			}
			if j == i || s.meaning(line[i:k]) == "" {
				f.Bad = stray(line[j])
				return
			}
			j = k
		}
		means, end := s.unit(line, i, j)
		if i = end; means == "" {
			f.Bad = "unknown word after the number"
		}
		if f.heed(means); f.Bad != "" {
			return
		}
	}
}

// unit returns what the word at line[i:j] means and where it ends: of a unit of
// two words, as "lbf ft", at the second.
func (s *simpleLine) unit(line []byte, i, j int) (string, int) {
	if j+1 < len(line) && line[j] == ' ' && isLetter(line[j+1]) {
		k := wordEnd(line, j+1)
		if u, ok := UnitOf(line[i:k]); ok {
			return u, k
		}
	}
	return s.meaning(line[i:j]), j
}

// meaning returns what a word stands for, a unit or a state, by the profile before
// all; "" for one not known.
func (s *simpleLine) meaning(word []byte) string {
	if m, ok := s.words[string(word)]; ok {
		return m
	}
	if u, ok := UnitOf(word); ok {
		return u
	}
	var low [longestUnit]byte
	return stateWords[string(lowered(word, low[:0]))]
}

// heed notes what a word means.
func (f *Frame) heed(meaning string) {
	switch {
	case Quantity(meaning) == "":
		f.Flags |= wordFlags[meaning]
	case f.Unit != "":
		f.Bad = "two units in the line"
	default:
		f.Unit = meaning
	}
}

// stray names why a byte cannot stand where it is.
func stray(c byte) string {
	switch {
	case c == 0:
		return "NUL in the line (parity or break error)"
	case isControl(rune(c)):
		return "control byte in the line"
	case c-'0' <= 9 || c == '+' || c == '-' || c == '.':
		return "two numbers run together"
	}
	return "unexpected character"
}

func wordEnd(line []byte, i int) int {
	for i < len(line) && isUnitByte(line[i]) {
		i++
	}
	return i
}

func isControl(c rune) bool { return c < ' ' && c != '\t' || c == 0x7f }
func isGap(c byte) bool     { return c == ' ' || c == '\t' || c == ',' || c == ';' }
func isLetter(c byte) bool  { return lower(c)-'a' < 26 }
func isUnitByte(c byte) bool {
	return isLetter(c) || c >= 0x80 || c == '.' || c == '*' || c == '-' || c == '"'
}
