// Package strict reads TOML that a person wrote into a struct and names every
// mistake with its line and column: what is no TOML, a key that the struct lacks, a
// value of another type, and what a check finds wrong in the values.
package strict

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"os"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// maxBytes bounds a file: a real one has a few thousand bytes. The decoder goes
// through the text once more for every unknown key.
const maxBytes = 1 << 17

// maxEntries bounds the keys, headings and listed values, counted by their marks: a
// job sheet with every window, bolt list and key at once comes to a few hundred. The
// decoder compares each key with all before it, and the checks each list with
// itself, so a long file of another kind would take minutes.
const maxEntries = 2000

// An Error is one mistake in a file.
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

// ReadFile reads a plain file that is not too long for Decode.
func ReadFile(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case err != nil:
		return nil, err
	case info.IsDir():
		return nil, fmt.Errorf("%s: it is a directory", path)
	case !info.Mode().IsRegular():
		return nil, fmt.Errorf("%s: it is not a plain file", path)
	case info.Size() > maxBytes:
		return nil, fmt.Errorf("%s: %d bytes are too many for what is written by hand", path, info.Size())
	}
	return os.ReadFile(path)
}

// Decode reads text into a T, a struct whose fields all have keys; file stands for it
// in errors. check finds what no value can be, each with the path of its key, in
// which the tables of a list count from 0: "window.#0.lower". Every mistake is an
// *Error; several are joined, by line, and T is its zero value then.
func Decode[T any](file string, text []byte, check func(T) []*Error) (T, error) {
	var value, none T
	text = bytes.TrimPrefix(text, []byte("\uFEFF"))
	if bad := unreadable(text); bad != nil {
		bad.File = file
		return none, bad
	}
	t := reflect.TypeFor[T]()
	keys, table := keysIn(text)
	err := toml.NewDecoder(bytes.NewReader(text)).DisallowUnknownFields().Decode(&value)
	missing, strange := errors.AsType[*toml.StrictMissingError](err)
	if err != nil && !strange {
		return none, decodeError(file, text, t, table, err) // the rest was not read
	}
	found := slices.Concat(unknown(t, missing, keys), capitals(t, keys), check(value))
	for _, e := range found {
		e.File, e.Place = file, cmp.Or(e.Place, nearest(keys, e.Key))
		e.Key = plain(e.Key)
	}
	slices.SortStableFunc(found, func(a, b *Error) int {
		return cmp.Or(cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	var all []error
	for _, e := range found {
		all = append(all, e)
	}
	if len(all) > 0 {
		return none, errors.Join(all...)
	}
	return value, nil
}

// unknown are the keys that no T has.
func unknown(t reflect.Type, missing *toml.StrictMissingError, keys []key) (wrong []*Error) {
	if missing == nil {
		return nil
	}
	for _, m := range missing.Errors {
		line, column := m.Position()
		e := &Error{Place: Place{line, column}, Key: strings.Join(m.Key(), "."), Text: "unknown key"}
		if i := slices.IndexFunc(keys, func(k key) bool { return k.Place == e.Place }); i >= 0 {
			e.Key = keys[i].path // an inline table's are known to the decoder by their own name only
		}
		parent := e.Key[:max(0, strings.LastIndexByte(e.Key, '.'))]
		if allowed := fieldKeys(typeAt(t, parent)); len(allowed) > 0 {
			e.Text += ". Allowed here: " + strings.Join(allowed, ", ")
		}
		wrong = append(wrong, e)
	}
	return wrong
}

// capitals are the keys in other letters than T's own. The decoder would take Axle
// for axle, and of both together silently one.
func capitals(t reflect.Type, keys []key) (wrong []*Error) {
	for _, k := range keys {
		own := strings.ToLower(k.path)
		if own != k.path && typeAt(t, own) != nil && typeAt(t, k.path) == nil {
			wrong = append(wrong, &Error{Place: k.Place, Key: k.path, Text: "unknown key; write it " + own[strings.LastIndexByte(own, '.')+1:]})
		}
	}
	return wrong
}

// decodeError turns the decoder's error into an Error. Where the text is no TOML, the
// table is the one that it ends in.
func decodeError(file string, text []byte, t reflect.Type, table string, err error) error {
	bad, ok := errors.AsType[*toml.DecodeError](err)
	if !ok {
		return &Error{File: file, Text: strings.TrimPrefix(err.Error(), "toml: ")}
	}
	row, column := bad.Position()
	lines := strings.Split(string(text), "\n")
	line := strings.TrimRight(lines[min(row, len(lines))-1], "\r")
	path := strings.Join(bad.Key(), ".")
	if name, _, pair := strings.Cut(line, "="); path == "" && pair {
		path = strings.TrimPrefix(table+"."+strings.TrimSpace(name), ".")
	}
	return &Error{File: file, Place: Place{row, column}, Key: strings.Join(bad.Key(), "."),
		Text: cmp.Or(quotesAt(line), badValue(allowedAt(t, path), line, column, bad))}
}
