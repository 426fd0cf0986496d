package strict

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2"
)

// decimalComma is a number as many countries write it, which TOML does not.
var decimalComma = regexp.MustCompile(`^([+-]?\d+),(\d+)\s*(#.*)?$`)

// badValue says what is wrong with a value that the decoder refused, and what, if
// anything, is wanted there: in a line at a column. The decoder speaks of Go's types;
// who wrote the file has none.
func badValue(want, line string, column int, bad *toml.DecodeError) string {
	_, value, _ := strings.Cut(line, "=")
	if m := decimalComma.FindStringSubmatch(strings.TrimSpace(value)); m != nil {
		return fmt.Sprintf("%s,%s has a decimal comma; write %s.%s", m[1], m[2], m[1], m[2])
	}
	said := strings.TrimPrefix(bad.Error(), "toml: ")
	if len(bad.Key()) > 0 && (strings.Contains(said, "cannot decode") || strings.Contains(said, "cannot store")) {
		said = shown(line, column) + " does not fit"
	}
	switch {
	case strings.Contains(said, "already defined"):
		return said + "; keep one of them"
	case want != "":
		return said + "; want " + want
	}
	return said
}

// longestShown is how many letters of a value a message repeats.
const longestShown = 60

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
	if letters := []rune(strings.TrimSpace(value)); len(letters) > longestShown {
		return string(letters[:longestShown]) + "…"
	}
	return strings.TrimSpace(value)
}

// unreadable is why a text is not looked at any further, nil for one that is. Some
// editors save in another encoding by themselves.
func unreadable(text []byte) *Error {
	switch {
	case len(bytes.TrimSpace(text)) == 0:
		return &Error{Text: "the file is empty"}
	case bytes.HasPrefix(text, []byte("\xff\xfe")), bytes.HasPrefix(text, []byte("\xfe\xff")), bytes.IndexByte(text, 0) >= 0:
		return &Error{Text: "the file is UTF-16; save it as UTF-8"}
	case bytes.Count(text, []byte("="))+bytes.Count(text, []byte("["))+bytes.Count(text, []byte(",")) > maxEntries:
		return &Error{Text: fmt.Sprintf("more than %d keys, tables and listed values: nobody wrote this by hand", maxEntries)}
	}
	line := 0
	for l := range bytes.Lines(text) {
		line++
		if !utf8.Valid(l) {
			column := 1 + utf8.RuneCount(l[:len(l)-len(bytes.TrimLeftFunc(l, func(r rune) bool { return r != utf8.RuneError }))])
			return &Error{Place: Place{line, column}, Text: "a letter that is not UTF-8; save the file as UTF-8"}
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
