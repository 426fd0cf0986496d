package sheet

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// SheetSchema is the newest schema of job.toml this package reads, and the one it
// writes. 2 has the keys of 1: a program that knows 1 alone must not take the chain
// of the job's captures.csv for damage, so it must leave the job alone.
const SheetSchema = 2

// ErrNewerSchema marks a job sheet written for a later crownlog.
var ErrNewerSchema = errors.New("job sheet has a newer schema")

// maxSheetBytes bounds a job sheet; a real one has a few thousand bytes. The decoder
// goes through the text once more for every unknown key.
const maxSheetBytes = 1 << 17

// maxEntries bounds the keys, headings and listed values of a job sheet, counted
// by their marks: every window, bolt list and key at once, with the longest bolt
// sequences, come to a few hundred. The decoder compares each key with all before it, and the checks
// each list with itself, so a long file of another kind would take minutes.
const maxEntries = 2000

// An Error is one mistake in a job sheet.
type Error struct {
	File string // "": no file yet, and no place to look at
	Place
	Key  string // dotted, "window.lower"; "" if none
	Text string // what is wrong, and what is allowed
}

func (e *Error) Error() string {
	where := e.File
	if where != "" && e.Line > 0 {
		where = fmt.Sprintf("%s:%d:%d", e.File, e.Line, e.Column)
	}
	parts := []string{where, e.Key, e.Text}
	return strings.Join(slices.DeleteFunc(parts, func(s string) bool { return s == "" }), ": ")
}

// Load reads a job sheet strictly. Every mistake it finds is a
// *Error with file, line and column; several are joined. A sheet with a
// newer schema fails with ErrNewerSchema.
func Load(path string) (Sheet, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return Sheet{}, fmt.Errorf("read job sheet: %w", err)
	case info.IsDir():
		return Sheet{}, fmt.Errorf("read job sheet %s: it is a directory", path)
	case !info.Mode().IsRegular():
		return Sheet{}, fmt.Errorf("read job sheet %s: it is not a plain file", path)
	case info.Size() > maxSheetBytes:
		return Sheet{}, fmt.Errorf("read job sheet %s: %d bytes is no job sheet", path, info.Size())
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return Sheet{}, fmt.Errorf("read job sheet: %w", err)
	}
	return Parse(path, text)
}

// Parse is Load on text; name stands for the file in errors.
func Parse(name string, text []byte) (Sheet, error) {
	text = bytes.TrimPrefix(text, []byte("\uFEFF"))
	if len(bytes.TrimSpace(text)) == 0 {
		return Sheet{}, &Error{File: name, Text: "the job sheet is empty"}
	}
	if bad := badEncoding(name, text); bad != nil {
		return Sheet{}, bad
	}
	if bytes.Count(text, []byte("="))+bytes.Count(text, []byte("["))+bytes.Count(text, []byte(",")) > maxEntries {
		return Sheet{}, &Error{File: name, Text: fmt.Sprintf("more than %d keys, tables and listed values: this is no job sheet", maxEntries)}
	}
	keys := keyLines(text)
	if err := checkSchema(name, text, keys); err != nil {
		return Sheet{}, err
	}
	var s Sheet
	var missing *toml.StrictMissingError
	switch err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&s); {
	case errors.As(err, &missing):
		return Sheet{}, joinErrors(name, unknownKeys(missing, keys))
	case err != nil:
		return Sheet{}, decodeError(name, text, keys, err)
	}
	if err := joinErrors(name, append(capitals(keys), placed(sheetMistakes(s), keys)...)); err != nil {
		return Sheet{}, err
	}
	return s, nil
}

// checkSchema reads the schema alone and leniently, so that a newer sheet is
// called newer, not full of unknown keys.
func checkSchema(name string, text []byte, keys []keyLine) error {
	var head struct {
		Schema *int `toml:"schema"`
	}
	if err := toml.Unmarshal(text, &head); err != nil {
		return decodeError(name, text, keys, err)
	}
	e := placed([]*Error{{File: name, Key: "schema"}}, keys)[0]
	switch {
	case head.Schema == nil:
		e.Text = fmt.Sprintf("missing; write schema = %d", SheetSchema)
	case *head.Schema > SheetSchema:
		return fmt.Errorf("%s:%d:%d: %w: schema %d, this program reads up to %d",
			name, e.Line, e.Column, ErrNewerSchema, *head.Schema, SheetSchema)
	case *head.Schema < 1:
		e.Text = fmt.Sprintf("%d is no schema; write schema = %d", *head.Schema, SheetSchema)
	default:
		return nil
	}
	return e
}

// decodeError turns the decoder's error into an Error.
func decodeError(name string, text []byte, keys []keyLine, err error) error {
	var bad *toml.DecodeError
	if !errors.As(err, &bad) {
		return &Error{File: name, Text: strings.TrimPrefix(err.Error(), "toml: ")}
	}
	row, column := bad.Position()
	path := []string(bad.Key())
	if i := slices.IndexFunc(keys, func(k keyLine) bool { return k.Line == row }); i >= 0 && len(path) == 0 {
		path = strings.Split(plainPath(keys[i].path), ".")
	}
	lines := strings.Split(string(text), "\n")
	line := strings.TrimRight(lines[min(row, len(lines))-1], "\r")
	return &Error{File: name, Place: Place{row, column}, Key: strings.Join(bad.Key(), "."), Text: cmp.Or(quotesAt(line), badValue(path, line, column, bad))}
}

// joinErrors puts the file's name to what is wrong in it.
func joinErrors(name string, found []*Error) error {
	var all []error
	for _, e := range found {
		e.File = name
		all = append(all, e)
	}
	return errors.Join(all...)
}
