package sheet

import (
	"bytes"
	"strings"
	"unicode/utf8"
)

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
