package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// SheetSchema is the newest schema of job.toml this package reads.
const SheetSchema = 1

// ErrNewerSchema marks a job sheet written for a later crownlog.
var ErrNewerSchema = errors.New("job sheet has a newer schema")

// maxSheetBytes bounds a job sheet; a real one has a few thousand bytes.
const maxSheetBytes = 1 << 20

// maxEntries bounds the keys, headings and listed values of a job sheet: every
// window, bolt list and key at once, with the longest bolt sequences, come to a
// few hundred. The decoder compares each key with all before it, and the checks
// each list with itself, so a long file of another kind would take minutes.
const maxEntries = 2000

// A Error is one mistake in a job sheet.
type Error struct {
	File         string // "": no file yet
	Line, Column int    // 1-based; 0: the file as a whole
	Key          string // dotted, "window.lower"; "" if none
	Text         string // what is wrong, and what is allowed
}

func (e *Error) Error() string {
	var parts []string
	if e.Line > 0 {
		parts = append(parts, fmt.Sprintf("%s:%d:%d", e.File, e.Line, e.Column))
	} else if e.File != "" {
		parts = append(parts, e.File)
	}
	if e.Key != "" {
		parts = append(parts, e.Key)
	}
	return strings.Join(append(parts, e.Text), ": ")
}

// Load reads a job sheet strictly. Every mistake it finds is a
// *SheetError with file, line and column; several are joined. A sheet with a
// newer schema fails with ErrNewerSchema.
func Load(path string) (Sheet, error) {
	info, err := os.Stat(path)
	if err != nil {
		return Sheet{}, fmt.Errorf("read job sheet: %w", err)
	}
	if info.IsDir() {
		return Sheet{}, fmt.Errorf("read job sheet %s: it is a directory", path)
	}
	if !info.Mode().IsRegular() {
		return Sheet{}, fmt.Errorf("read job sheet %s: it is not a plain file", path)
	}
	if info.Size() > maxSheetBytes {
		return Sheet{}, fmt.Errorf("read job sheet %s: %d bytes is no job sheet", path, info.Size())
	}
	text, err := os.ReadFile(path)
	if err != nil {
		return Sheet{}, fmt.Errorf("read job sheet: %w", err)
	}
	return Parse(path, text)
}

// Parse is LoadSheet on text; name stands for the file in errors.
func Parse(name string, text []byte) (Sheet, error) {
	text = bytes.TrimPrefix(text, []byte("\uFEFF"))
	if len(bytes.TrimSpace(text)) == 0 {
		return Sheet{}, &Error{File: name, Text: "the job sheet is empty"}
	}
	found := locateKeys(text)
	if found.met > maxEntries {
		return Sheet{}, &Error{File: name, Text: fmt.Sprintf("more than %d keys, tables and listed values: this is no job sheet", maxEntries)}
	}
	if err := checkSchema(name, text, found.keys); err != nil {
		return Sheet{}, err
	}
	// The decoder is lenient: its own list of unknown keys goes through the whole
	// text again for each of them.
	var s Sheet
	if err := toml.Unmarshal(text, &s); err != nil {
		return Sheet{}, decodeError(name, text, err)
	}
	if err := joinStrays(name, found); err != nil {
		return Sheet{}, err
	}
	if err := joinMistakes(name, found.keys, append(capitalKeys(found.keys), sheetMistakes(s)...)); err != nil {
		return Sheet{}, err
	}
	return s, nil
}

// checkSchema reads the schema alone and leniently, so that a newer sheet is
// called newer, not full of unknown keys.
func checkSchema(name string, text []byte, keys keyIndex) error {
	var head struct {
		Schema *int `toml:"schema"`
	}
	if err := toml.Unmarshal(text, &head); err != nil {
		return decodeError(name, text, err)
	}
	at := keys["schema"]
	switch {
	case head.Schema == nil:
		return &Error{File: name, Key: "schema", Text: fmt.Sprintf("missing; write schema = %d", SheetSchema)}
	case *head.Schema > SheetSchema:
		return fmt.Errorf("%s:%d:%d: %w: schema %d, this program reads up to %d",
			name, at.line, at.column, ErrNewerSchema, *head.Schema, SheetSchema)
	case *head.Schema < 1:
		return &Error{File: name, Line: at.line, Column: at.column, Key: "schema",
			Text: fmt.Sprintf("%d is no schema; write schema = %d", *head.Schema, SheetSchema)}
	}
	return nil
}

// decodeError turns the decoder's error into a SheetError.
func decodeError(name string, text []byte, err error) error {
	var bad *toml.DecodeError
	if errors.As(err, &bad) {
		line, column := bad.Position()
		e := &Error{File: name, Line: line, Column: column, Key: strings.Join(bad.Key(), ".")}
		text, line = headed(text, line)
		e.Text = badValue(text, bad, line, column)
		return e
	}
	return &Error{File: name, Text: strings.TrimPrefix(err.Error(), "toml: ")}
}

// headed is a line of a sheet, with the heading of its table above it if it has
// one, and its number there. The words about a bad value need no more, and are
// sought line by line.
func headed(text []byte, line int) ([]byte, int) {
	var heading, here []byte
	for l := range bytes.Lines(text) {
		if line--; line == 0 {
			here = l
			break
		}
		if bytes.HasPrefix(bytes.TrimSpace(l), []byte("[")) {
			heading = l
		}
	}
	if heading == nil {
		return here, 1
	}
	return slices.Concat(heading, here), 2
}

// joinStrays lists for each stray key what may stand in the table instead.
func joinStrays(name string, found *keyFinder) error {
	var all []error
	for _, k := range found.strays {
		text, last := "unknown key", len(k.parts)-1
		if allowed := allowedKeys(k.parts[:last]); len(allowed) > 0 {
			hint := ". "
			if near := Nearest(k.parts[last], allowed); near != "" {
				hint = fmt.Sprintf("; did you mean %s? ", near)
			}
			text += hint + "Allowed here: " + strings.Join(allowed, ", ")
		}
		all = append(all, &Error{File: name, Line: k.at.line, Column: k.at.column, Key: strings.Join(k.parts, "."), Text: text})
	}
	return errors.Join(all...)
}

// A mistake is a value that cannot be: path as in keyIndex.
type mistake struct{ path, text string }

// joinMistakes gives each mistake the place of its key, or of the table that
// lacks it.
func joinMistakes(name string, keys keyIndex, found []mistake) error {
	var all []error
	for _, m := range found {
		at, path := keyPlace{}, m.path
		for path != "" && at.line == 0 {
			at = keys[path]
			path = parentPath(path)
		}
		all = append(all, &Error{File: name, Line: at.line, Column: at.column, Key: plainPath(m.path), Text: m.text})
	}
	return errors.Join(all...)
}
