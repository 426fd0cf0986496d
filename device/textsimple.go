package device

// A simpleLine reads "words number words" lines.
type simpleLine struct {
	point, comma bool
	words        map[string]string
	lastWord     []byte // the unit word of the line before
	lastUnit     string
}

// Meanings of the words around a number.
const (
	wordHold    = "hold"
	wordBattery = "low-battery"
	wordOver    = "over"
	wordIgnore  = "ignore"
)

// wordFlags are the flags a word raises.
var wordFlags = map[string]Flags{wordHold: FlagHold, wordBattery: FlagLowBattery, wordOver: FlagOverRange}

// stateWords are understood in any text line, besides the units.
var stateWords = map[string]string{
	"hold": wordHold, "hld": wordHold,
	"lobat": wordBattery, "lowbat": wordBattery, "lobatt": wordBattery, "lowbatt": wordBattery,
	"ol": wordOver, "over": wordOver, "overrange": wordOver,
}

// read decodes a trimmed line that is not empty.
func (s *simpleLine) read(line []byte) (Frame, number) {
	var f Frame
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
	n, next := scanNumber(line, i, s.point, s.comma)
	if next < 0 {
		f.Bad = "not a number"
		return f, number{}
	}
	f.Value = n.value
	s.suffix(line, next, &f)
	return f, n
}

// prefix reads the words before the number and returns where it starts.
func (s *simpleLine) prefix(line []byte, f *Frame) int {
	i := 0
	for i < len(line) {
		switch c := line[i]; {
		case digitAt(line, i), c == '+', c == '-', c == '.':
			if !s.signedWord(line, i) {
				return i
			}
			i++
		case isGap(c) || c == ':' || c == '=':
			i++
		case isLetter(c) || c == '#' || c == '$':
			j := labelEnd(line, i)
			if unit, ok := unitOf(line[i:j]); ok {
				f.Unit = unit
			} else {
				f.Flags |= wordFlags[s.meaning(line[i:j])]
			}
			if j < len(line) && !isGap(line[j]) && line[j] != ':' && line[j] != '=' && line[j] != '+' && line[j] != '-' {
				f.Bad = stray(line[j])
				return j
			}
			i = j
		default:
			f.Bad = stray(c)
			return i
		}
	}
	return i
}

// labelEnd returns the end of the word before the number that starts at i.
func labelEnd(line []byte, i int) int {
	for i++; i < len(line); i++ {
		c := line[i]
		inside := (c == '-' || c == '.') && i+1 < len(line) && isLetter(line[i+1])
		if !isLetter(c) && !digitAt(line, i) && c != '_' && c != '#' && !inside {
			break
		}
	}
	return i
}

// signedWord reports whether a sign at i belongs to a word, as in "-OL".
func (s *simpleLine) signedWord(line []byte, i int) bool {
	return (line[i] == '+' || line[i] == '-') && i+1 < len(line) && isLetter(line[i+1])
}

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
		if j < len(line) && !isGap(line[j]) {
			f.Bad = stray(line[j])
			return
		}
		if unit, end := s.unit(line, i, j); unit != "" {
			if f.Unit != "" {
				f.Bad = "two units in the line"
				return
			}
			f.Unit, i = unit, end
			continue
		}
		m := s.meaning(line[i:j])
		if m == "" {
			f.Bad = "unknown word after the number"
			return
		}
		f.Flags |= wordFlags[m]
		i = j
	}
}

// unit reads the unit at line[i:j], which may be two words ("lbf ft"), and
// returns where it ends; "" where it is none.
func (s *simpleLine) unit(line []byte, i, j int) (string, int) {
	word := line[i:j]
	if j == len(line) && string(word) == string(s.lastWord) {
		return s.lastUnit, j
	}
	if j+1 < len(line) && line[j] == ' ' && isLetter(line[j+1]) {
		k := wordEnd(line, j+1)
		if k-i <= longestUnit {
			var joined [longestUnit]byte
			n := copy(joined[:], line[i:k])
			joined[j-i] = '.'
			if u, ok := unitOf(joined[:n]); ok {
				return u, k
			}
		}
	}
	u := s.words[string(word)]
	if quantities[u] == "" {
		var ok bool
		if u, ok = unitOf(word); !ok {
			return "", i
		}
	}
	s.lastWord, s.lastUnit = append(s.lastWord[:0], word...), u
	return u, j
}

// meaning returns what a word that is not a unit stands for.
func (s *simpleLine) meaning(word []byte) string {
	if m, ok := s.words[string(word)]; ok {
		return m
	}
	if len(word) > longestUnit {
		return ""
	}
	var low [longestUnit]byte
	for i, c := range word {
		low[i] = lower(c)
	}
	return stateWords[string(low[:len(word)])]
}

// stray names why a byte cannot stand where it is.
func stray(c byte) string {
	switch {
	case c == 0:
		return "NUL in the line (parity or break error)"
	case c < ' ' && c != '\t' || c == 0x7f:
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

func isGap(c byte) bool    { return c == ' ' || c == '\t' || c == ',' || c == ';' }
func isLetter(c byte) bool { return lower(c)-'a' < 26 }
func isUnitByte(c byte) bool {
	return isLetter(c) || c >= 0x80 || c == '.' || c == '*' || c == '-' || c == '"'
}
