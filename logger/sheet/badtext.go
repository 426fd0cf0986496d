package sheet

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"

	"crownlog/logger/record"
)

// decimalComma is a number as many countries write it, which TOML does not.
var decimalComma = regexp.MustCompile(`^([+-]?\d+),(\d+)\s*(#.*)?$`)

// badValue says what is wrong with a value that the decoder refused, and what
// may stand there: at a key, in a line at a column. The decoder speaks of Go's
// types; the fitter has none.
func badValue(path []string, line string, column int, bad *toml.DecodeError) string {
	_, value, _ := strings.Cut(line, "=")
	if m := decimalComma.FindStringSubmatch(strings.TrimSpace(value)); m != nil {
		return fmt.Sprintf("%s,%s has a decimal comma; write %s.%s", m[1], m[2], m[1], m[2])
	}
	said := strings.TrimPrefix(bad.Error(), "toml: ")
	if len(bad.Key()) > 0 && strings.Contains(said, "cannot decode") {
		said = shown(line, column) + " does not fit"
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

// badEncoding is the mistake of a text that is not UTF-8, nil for one that is:
// some editors save in another encoding by themselves.
func badEncoding(name string, text []byte) *Error {
	if bytes.HasPrefix(text, []byte("\xff\xfe")) || bytes.HasPrefix(text, []byte("\xfe\xff")) || bytes.IndexByte(text, 0) >= 0 {
		return &Error{File: name, Text: "the file is UTF-16; save it as UTF-8"}
	}
	line := 0
	for l := range bytes.Lines(text) {
		line++
		if !utf8.Valid(l) {
			column := 1 + utf8.RuneCount(l[:len(l)-len(bytes.TrimLeftFunc(l, func(r rune) bool { return r != utf8.RuneError }))])
			return &Error{File: name, Place: Place{line, column}, Text: "a letter that is not UTF-8; save the file as UTF-8"}
		}
	}
	return nil
}

// typographic are the quotation marks that word processors and phones make of
// those that are typed.
const typographic = "“”„‟‘’‚«»"

// quotesAt says which quotation mark of a line is none to the file, "" for a line
// without.
func quotesAt(line string) string {
	i := strings.IndexAny(line, typographic)
	if i < 0 {
		return ""
	}
	mark, _ := utf8.DecodeRuneInString(line[i:])
	return string(mark) + " is a typographic quotation mark; write \" as on a typewriter"
}
