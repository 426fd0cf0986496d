package sheet

import (
	"fmt"
	"regexp"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"

	"crownlog/logger/record"
)

// decimalComma is a number as many countries write it, which TOML does not.
var decimalComma = regexp.MustCompile(`^([+-]?\d+),(\d+)\s*(#.*)?$`)

// badValue says what is wrong with a value that the decoder refused, and what
// may stand there: in a line of a table, at a column. The decoder speaks of Go's
// types; the fitter has none.
func badValue(table []string, line string, column int, bad *toml.DecodeError) string {
	key, value, pair := strings.Cut(line, "=")
	if m := decimalComma.FindStringSubmatch(strings.TrimSpace(value)); m != nil {
		return fmt.Sprintf("%s,%s has a decimal comma; write %s.%s", m[1], m[2], m[1], m[2])
	}
	path := []string(bad.Key())
	said := strings.TrimPrefix(bad.Error(), "toml: ")
	switch key = strings.TrimSpace(key); {
	case len(path) > 0 && strings.Contains(said, "cannot decode"):
		said = shown(line, column) + " does not fit"
	case len(path) == 0 && pair && key != "":
		path = slices.Concat(table, []string{key})
	}
	if strings.Contains(said, "already defined") {
		return said + "; keep one of them"
	}
	if want := allowedType(path); want != "" {
		return said + "; want " + want
	}
	return said
}

// shown is the value that begins at a column, to quote it.
func shown(line string, column int) string {
	if column > len(line) {
		return "this"
	}
	value := line[column-1:]
	end := strings.IndexAny(value, ",]}#")
	if strings.HasPrefix(value, `"`) || strings.HasPrefix(value, "'") {
		end = 1 + strings.IndexByte(value[1:], value[0]) + 1
	}
	if end > 0 {
		value = value[:end]
	}
	return record.CutLong(strings.TrimSpace(value))
}
