package frame

import (
	"bytes"
	"regexp"
)

// A textLine reads lines of "words number words":
//
//	line    = { gap | label | unit | state | sign } number { gap | unit | state | sign }
//	label   = word ( ":" | "=" ) | "CH" digits
//	gap     = space | tab | "," | ";"
//
// or finds such parts by a pattern. Whatever else stands in a line makes it
// garbled: with no checksum, a number is believed only if all that surrounds it is
// understood.
type textLine struct {
	point, comma bool              // may be the decimal mark
	grouped      *regexp.Regexp    // a number with marks between its thousands, may be nil
	mark         []byte            // between them
	hex          int               // bits of a number in hex digits; 0: in decimal ones
	signed       bool              // of two's complement
	words        map[string]string // of the profile
	pattern      *regexp.Regexp    // nil: the line is read simply
	channel      string            // of a line that the pattern finds one in
}

// Meanings of the words around a number.
const (
	wordHold    = "hold"
	wordBattery = "low-battery"
	wordOver    = "over"
	wordIgnore  = "ignore"
	wordPlus    = "plus"
	wordMinus   = "minus"
)

// wordFlags are the words that are no unit, and the flags they raise.
var wordFlags = map[string]Flags{wordHold: FlagHold, wordBattery: FlagLowBattery, wordOver: FlagOverRange,
	wordIgnore: 0, wordPlus: 0, wordMinus: 0}

// Why the number in a line is not taken.
const (
	otherChannel = "of another channel"
	errorMessage = "error message of the gauge"
	notMeasured  = "number that is no measured value"
)

// notValues label a number that is not what is measured, even with a colon: a
// message about the gauge itself, which a code follows, or the battery, a
// calibration, a serial number, a version.
var notValues = map[string]string{
	"e": errorMessage, "er": errorMessage, "err": errorMessage, "error": errorMessage, "fail": errorMessage,
	"failed": errorMessage, "fault": errorMessage, "alarm": errorMessage,
	"low": notMeasured, "lo": notMeasured, "bat": notMeasured, "batt": notMeasured, "battery": notMeasured,
	"cal": notMeasured, "sn": notMeasured, "id": notMeasured, "no": notMeasured, "ver": notMeasured,
	"version": notMeasured, "rev": notMeasured, "v": notMeasured, "fw": notMeasured, "sw": notMeasured, "hw": notMeasured,
}

// lineParts is what was found in a line.
type lineParts struct {
	Frame
	number
	found   bool // the number
	sign    string
	battery bool // a battery word stands before the number: it may be its voltage
}

// read decodes a trimmed line that is not empty.
func (s *textLine) read(line []byte) (Frame, number) {
	var p lineParts
	if s.pattern == nil {
		s.simple(line, &p)
	} else {
		s.byPattern(line, &p)
	}
	switch {
	case p.Bad != "":
	case !p.found && p.Flags&FlagOverRange != 0:
		p.Bad = "over range"
	case !p.found:
		p.Bad = "no number in the line"
	case p.sign != "" && (p.plus || p.minus || isSign(p.sign[0])):
		p.Bad = "sign is not understood"
	case p.battery && p.Unit == "":
		p.Bad = notMeasured
	}
	if p.Bad != "" {
		return Frame{Bad: p.Bad, Flags: p.Flags}, number{}
	}
	p.plus = p.plus || p.sign == wordPlus
	if p.sign == wordMinus {
		p.minus, p.value = true, -p.value
	}
	if p.Value, p.Decimals = p.value, p.decimals; p.exponent { // the form does not tell
		p.Decimals = -1
	}
	return p.Frame, p.number
}

// simple reads a line, or the part of one that a pattern calls its value.
func (s *textLine) simple(line []byte, p *lineParts) {
	for i := 0; i < len(line) && p.Bad == ""; {
		c, letter := line[i], i+1 < len(line) && isLetter(line[i+1])
		switch {
		case !p.found && s.starts(line, i):
			n, end := s.number(line, i)
			switch {
			case end < 0:
				p.Bad = "not a number"
			case s.comma && n.decimals == 0 && i > 1 && line[i-1] == ',' && isWord(line[i-2]):
				p.Bad = "comma may be the decimal mark"
			}
			p.number, p.found, i = n, true, end
		case isGap(c), !p.found && (c == ':' || c == '='):
			i++
		case !p.found && isSign(c) && letter: // of a word, as in "-OL"
			p.sign, i = string(c), i+1
		default:
			i = s.word(line, i, p)
		}
	}
}

// starts reports whether a number begins at line[i].
func (s *textLine) starts(line []byte, i int) bool {
	switch c := line[i]; {
	case s.hex > 0:
		return !isGap(c)
	case isSign(c) && i+1 < len(line):
		next := line[i+1] // a sign with a mark behind it stands apart
		return !isLetter(next) && next != '\t' && next != ';' && (next != ',' || s.comma)
	case c == ',':
		return s.comma && digitAt(line, i+1) && (i == 0 || !isWord(line[i-1]))
	default:
		return c == '.' || isSign(c) || digitAt(line, i)
	}
}

// word reads the word that begins at line[i], or a unit of two words, as "lbf ft",
// and returns where it ends.
func (s *textLine) word(line []byte, i int, p *lineParts) int {
	end := func(j int) int {
		for j++; j < len(line) && !isGap(line[j]); j++ {
			c, letter := line[j], j+1 < len(line) && isLetter(line[j+1])
			if !p.found && (c == ':' || c == '=' || isSign(c) && !letter) {
				break
			}
		}
		return j
	}
	j := end(i)
	means := s.meaning(line[i:j])
	if j+1 < len(line) && line[j] == ' ' && isLetter(line[j+1]) {
		k := end(j + 1)
		if u, ok := UnitOf(line[i:k]); ok {
			means, j = u, k
		}
	}
	if word := line[i:j]; means == "" {
		p.Bad = s.unknown(word, line[j:], p.found)
	} else if p.heed(means); means == wordBattery && !p.found && s.words[string(word)] == "" {
		p.battery = true
	}
	return j
}

// A word before the number, and the letters it begins with.
var (
	labelForm  = regexp.MustCompile(`^[a-zA-Z#$](?:[\w#]|[-.][a-zA-Z])*`)
	letterForm = regexp.MustCompile(`^[a-zA-Z]*`)
)

// unknown returns why a word without a meaning cannot stand where it is, before
// the number or after it, "" where it can.
func (s *textLine) unknown(word, rest []byte, behind bool) string {
	if behind {
		if i := bytes.IndexFunc(word, func(r rune) bool { return r < 0x80 && !isUnitByte(byte(r)) }); i >= 0 {
			return stray(word[i])
		}
		return "unknown word after the number"
	}
	if n := len(labelForm.Find(word)); n < len(word) {
		return stray(word[n])
	}
	letters := string(bytes.ToLower(letterForm.Find(word)))
	next := bytes.TrimLeft(rest, " ")
	switch {
	case notValues[letters] != "":
		return notValues[letters]
	case len(next) > 0 && (next[0] == ':' || next[0] == '='), len(letters) < len(word) && letters == "ch":
		return "" // a label
	case bytes.ContainsAny(rest, "0123456789"):
		return "unknown word before the number"
	}
	return ""
}

// byPattern decodes one line by the pattern; every group that took part must be
// sound.
func (s *textLine) byPattern(line []byte, p *lineParts) {
	if i := bytes.IndexFunc(line, isControl); i >= 0 {
		p.Bad = stray(line[i])
		return
	}
	at := s.pattern.FindSubmatchIndex(line)
	if at == nil {
		p.Bad = "line does not fit the pattern"
		return
	}
	if i := s.pattern.SubexpIndex("channel"); i >= 0 && string(trim(line[max(0, at[2*i]):max(0, at[2*i+1])])) != s.channel {
		p.Bad = otherChannel
		return
	}
	for i, name := range s.pattern.SubexpNames() {
		if name == "" || at[2*i] < 0 || p.Bad != "" {
			continue
		}
		word := trim(line[at[2*i]:at[2*i+1]])
		means := s.meaning(word)
		_, state := wordFlags[means]
		switch {
		case len(word) == 0, name == "channel":
		case name == "value":
			s.simple(word, p)
		case name == "seq":
			p.Seq = string(word)
		case patternFlags[name] != 0:
			p.Flags |= patternFlags[name]
		case means == "", name == "unit" && state, name == "sign" && means != wordPlus && means != wordMinus:
			p.Bad = patternWords[name]
		default:
			if p.heed(means); means == wordOver { // the number beside it is none
				p.Bad = "over range"
			}
		}
	}
}

// The groups of a pattern besides value and seq: those that raise a flag, and those
// whose words must have a meaning.
var (
	patternFlags = map[string]Flags{"hold": FlagHold, "low_battery": FlagLowBattery, "over": FlagOverRange}
	patternWords = map[string]string{"unit": "unit is not known", "sign": "sign is not understood", "state": "state is not known"}
)

// meaning returns what a word stands for, a unit or a state, by the profile before
// all; "" for one not known.
func (s *textLine) meaning(word []byte) string {
	if m, ok := s.words[string(word)]; ok {
		return m
	}
	return meaningOf(word)
}

// heed notes what a word means.
func (p *lineParts) heed(means string) {
	flag, state := wordFlags[means]
	switch {
	case (means == wordPlus || means == wordMinus) && p.sign == "":
		p.sign = means
	case means == wordPlus, means == wordMinus:
		p.Bad = "sign is not understood"
	case state:
		p.Flags |= flag
	case p.Unit != "":
		p.Bad = "two units in the line"
	default:
		p.Unit = means
	}
}

// stray names why a byte cannot stand where it is.
func stray(c byte) string {
	switch {
	case c == 0:
		return "NUL in the line (parity or break error)"
	case isControl(rune(c)):
		return "control byte in the line"
	case c-'0' <= 9 || isSign(c) || c == '.':
		return "two numbers run together"
	}
	return "unexpected character"
}

func isControl(c rune) bool  { return c < ' ' && c != '\t' || c == 0x7f }
func isGap(c byte) bool      { return c == ' ' || c == '\t' || c == ',' || c == ';' }
func isSign(c byte) bool     { return c == '+' || c == '-' }
func isLetter(c byte) bool   { return c|0x20-'a' < 26 }
func isWord(c byte) bool     { return isLetter(c) || c-'0' <= 9 }
func isUnitByte(c byte) bool { return isLetter(c) || c == '.' || c == '*' || c == '-' || c == '"' }
