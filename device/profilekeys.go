package device

import (
	"errors"
	"regexp"
	"strings"

	"crownlog/device/frame"
)

// inTable returns err as one of the key it names, in the table, or "" for none. A
// message begins with the key, unless it gives the path.
func inTable(table string, err error) *frame.KeyError {
	ke, ok := errors.AsType[*frame.KeyError](err)
	if !ok {
		key, text, _ := strings.Cut(err.Error(), " ")
		ke = &frame.KeyError{Key: key, Err: errors.New(text)}
	}
	if table == "" {
		return ke
	}
	return &frame.KeyError{Key: table + "." + ke.Key, Err: ke.Err}
}

// A key of a profile file, bare, dotted or in quotes, and the name of a table.
var (
	keyForm   = regexp.MustCompile(`(?:"([^"]*)"|([\w.-]+))[ \t]*=`)
	tableForm = regexp.MustCompile(`^[ \t]*\[+[ \t]*([\w.-]+)`)
)

// position returns the place of the key that an error names, or of the table
// where the key is missing, or 1, 1. The parser forgets where a value stood once
// it is decoded, so the text is looked through again: keys behind the first of a
// line are of an inline table.
func position(b []byte, err error) (line, column int) {
	var ke *frame.KeyError
	if line, column = 1, 1; !errors.As(err, &ke) {
		return line, column
	}
	best, table := "", ""
	note := func(path string, n, at int) {
		if path = strings.TrimPrefix(path, "."); len(path) > len(best) && (path == ke.Key || strings.HasPrefix(ke.Key, path+".")) {
			best, line, column = path, n+1, at+1
		}
	}
	for n, text := range strings.Split(string(b), "\n") {
		text, _, _ = strings.Cut(text, "#") // a comment
		if m := tableForm.FindStringSubmatchIndex(text); m != nil {
			table = text[m[2]:m[3]]
			note(table, n, m[2])
			continue
		}
		path := table
		for i, m := range keyForm.FindAllStringSubmatchIndex(text, -1) {
			name := strings.Trim(strings.TrimRight(text[m[0]:m[1]-1], " \t"), `"`)
			if note(path+"."+name, n, m[0]); i == 0 {
				path += "." + name
			}
		}
	}
	return line, column
}
