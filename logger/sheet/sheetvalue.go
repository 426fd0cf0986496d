package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// decimalComma is a number as many countries write it, which TOML does not.
var decimalComma = regexp.MustCompile(`^([+-]?\d+),(\d+)\s*(#.*)?$`)

// badValue says what is wrong with a value that the decoder refused, and what
// may stand there. The decoder speaks of Go's types; the fitter has none.
func badValue(text []byte, bad *toml.DecodeError, line, column int) string {
	table, key, value := valueAt(text, line)
	if m := decimalComma.FindStringSubmatch(value); m != nil {
		return fmt.Sprintf("%s,%s has a decimal comma; write %s.%s", m[1], m[2], m[1], m[2])
	}
	path := []string(bad.Key())
	said := strings.TrimPrefix(bad.Error(), "toml: ")
	if len(path) == 0 {
		if key != "" {
			path = append(table, key)
		}
	} else if strings.Contains(said, "cannot decode") {
		said = shown(text, line, column) + " does not fit"
	}
	if strings.Contains(said, "already defined") {
		return said + "; keep one of them"
	}
	if want := allowedType(path); want != "" {
		return said + "; want " + want
	}
	return said
}

// shownLength is how much of a value a message repeats, in letters.
const shownLength = 60

// shown is the value that begins at a place, to quote it.
func shown(text []byte, line, column int) string {
	value := lineAtNumber(text, line)
	if column > len(value) {
		return "this"
	}
	value = value[column-1:]
	end := strings.IndexAny(value, ",]}#")
	if strings.HasPrefix(value, `"`) || strings.HasPrefix(value, "'") {
		end = 1 + strings.IndexByte(value[1:], value[0]) + 1
	}
	if end > 0 {
		value = value[:end]
	}
	r := []rune(strings.TrimSpace(value))
	if len(r) > shownLength {
		return string(r[:shownLength]) + "…"
	}
	return string(r)
}

// valueAt takes a line apart: the table it stands in, its key and its value.
func valueAt(text []byte, line int) (table []string, key, value string) {
	for n := line - 1; n > 0 && table == nil; n-- {
		if s := strings.TrimSpace(lineAtNumber(text, n)); strings.HasPrefix(s, "[") {
			name, _, _ := strings.Cut(strings.TrimLeft(s, "["), "]")
			table = strings.Split(strings.TrimSpace(name), ".")
		}
	}
	key, value, found := strings.Cut(lineAtNumber(text, line), "=")
	if !found {
		return table, "", ""
	}
	return table, strings.TrimSpace(key), strings.TrimSpace(value)
}

func lineAtNumber(text []byte, line int) string {
	lines := bytes.SplitN(text, []byte("\n"), line+1)
	if line < 1 || line > len(lines) {
		return ""
	}
	return strings.TrimSuffix(string(lines[line-1]), "\r")
}

// capitalKeys finds keys in other letters than the sheet's own. The decoder
// would take Axle for axle, and of both together silently one.
func capitalKeys(keys keyIndex) []mistake {
	var found []mistake
	for path := range keys {
		parts := strings.Split(plainPath(path), ".")
		if sheetType(parts) != nil {
			continue
		}
		last := parts[len(parts)-1]
		for _, right := range allowedKeys(parts[:len(parts)-1]) {
			if strings.EqualFold(right, last) {
				found = append(found, mistake{path, fmt.Sprintf("unknown key; write it %s", right)})
			}
		}
	}
	slices.SortFunc(found, func(a, b mistake) int { return strings.Compare(a.path, b.path) })
	return found
}
