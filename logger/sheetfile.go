package logger

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// SheetSchema is the newest schema of job.toml this package reads.
const SheetSchema = 1

// ErrNewerSchema marks a job sheet written for a later crownlog.
var ErrNewerSchema = errors.New("job sheet has a newer schema")

// maxSheetBytes bounds a job sheet; a real one has a few thousand bytes.
const maxSheetBytes = 1 << 20

// A SheetError is one mistake in a job sheet.
type SheetError struct {
	File         string // "": no file yet
	Line, Column int    // 1-based; 0: the file as a whole
	Key          string // dotted, "window.lower"; "" if none
	Text         string // what is wrong, and what is allowed
}

func (e *SheetError) Error() string {
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

// LoadSheet reads a job sheet strictly. Every mistake it finds is a
// *SheetError with file, line and column; several are joined. A sheet with a
// newer schema fails with ErrNewerSchema.
func LoadSheet(path string) (Sheet, error) {
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
	return parseSheet(path, text)
}

// parseSheet is LoadSheet on text; name stands for the file in errors.
func parseSheet(name string, text []byte) (Sheet, error) {
	text = bytes.TrimPrefix(text, []byte("\uFEFF"))
	if len(bytes.TrimSpace(text)) == 0 {
		return Sheet{}, &SheetError{File: name, Text: "the job sheet is empty"}
	}
	keys := locateKeys(text)
	if err := checkSchema(name, text, keys); err != nil {
		return Sheet{}, err
	}
	var s Sheet
	dec := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields()
	if err := dec.Decode(&s); err != nil {
		return Sheet{}, decodeErrors(name, text, keys, err)
	}
	if err := joinMistakes(name, keys, append(capitalKeys(keys), sheetMistakes(s)...)); err != nil {
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
		return decodeErrors(name, text, keys, err)
	}
	at := keys["schema"]
	switch {
	case head.Schema == nil:
		return &SheetError{File: name, Key: "schema", Text: fmt.Sprintf("missing; write schema = %d", SheetSchema)}
	case *head.Schema > SheetSchema:
		return fmt.Errorf("%s:%d:%d: %w: schema %d, this program reads up to %d",
			name, at.line, at.column, ErrNewerSchema, *head.Schema, SheetSchema)
	case *head.Schema < 1:
		return &SheetError{File: name, Line: at.line, Column: at.column, Key: "schema",
			Text: fmt.Sprintf("%d is no schema; write schema = %d", *head.Schema, SheetSchema)}
	}
	return nil
}

// decodeErrors turns the decoder's errors into SheetErrors.
func decodeErrors(name string, text []byte, keys keyIndex, err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var all []error
		for i := range strict.Errors {
			all = append(all, unknownKey(name, keys, &strict.Errors[i]))
		}
		return errors.Join(all...)
	}
	var bad *toml.DecodeError
	if errors.As(err, &bad) {
		line, column := bad.Position()
		e := &SheetError{File: name, Line: line, Column: column, Key: strings.Join(bad.Key(), ".")}
		e.Text = badValue(text, bad, line, column)
		return e
	}
	return &SheetError{File: name, Text: strings.TrimPrefix(err.Error(), "toml: ")}
}

// unknownKey lists what may stand in the table instead. The decoder does not
// name the whole path inside an inline table; the index of keys does.
func unknownKey(name string, keys keyIndex, e *toml.DecodeError) error {
	line, column := e.Position()
	key := []string(e.Key())
	if path := keys.at(line, column); path != "" {
		key = strings.Split(plainPath(path), ".")
	}
	text := "unknown key"
	if allowed := allowedKeys(key[:len(key)-1]); len(allowed) > 0 {
		hint := ". "
		if near := nearest(key[len(key)-1], allowed); near != "" {
			hint = fmt.Sprintf("; did you mean %s? ", near)
		}
		text += hint + "Allowed here: " + strings.Join(allowed, ", ")
	}
	return &SheetError{File: name, Line: line, Column: column, Key: strings.Join(key, "."), Text: text}
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
		all = append(all, &SheetError{File: name, Line: at.line, Column: at.column, Key: plainPath(m.path), Text: m.text})
	}
	return errors.Join(all...)
}
