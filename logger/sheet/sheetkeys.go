package sheet

import (
	"bytes"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A Place is where something stands in a file, 1-based; its zero value is the
// file as a whole.
type Place struct{ Line, Column int }

// A keyIndex finds keys by path. An array of tables counts from 0:
// "window.0.lower".
type keyIndex map[string]Place

// A keyFinder walks through a sheet once, from its beginning to its end.
type keyFinder struct {
	parser   unstable.Parser
	text     []byte
	keys     keyIndex
	table    []string // the heading above what follows
	unknown  []*Error // keys and headings that no sheet has
	capitals []*Error // keys in other letters than the sheet's own
}

// locateKeys indexes the keys of a sheet that mean something, in whatever
// letters, as far as it can be parsed, and finds the others. What stands under an
// unknown heading or in the value of an unknown key is passed over, as the decoder
// does: so the index never holds more than the text, however long its names are.
func locateKeys(text []byte) *keyFinder {
	f := &keyFinder{text: text, keys: make(keyIndex)}
	count := make(map[string]int)
	f.parser.Reset(text)
	path, known := "", true
	for f.parser.NextExpression() {
		e := f.parser.Expression()
		parts, at := f.keyName(e)
		switch e.Kind {
		case unstable.Table, unstable.ArrayTable:
			f.table = parts
			if known = f.meets(parts, at); !known {
				continue
			}
			path = strings.Join(parts, ".")
			if e.Kind == unstable.ArrayTable {
				count[path]++
				path += "." + strconv.Itoa(count[path]-1)
			}
			f.keys[path] = at
		case unstable.KeyValue:
			if known {
				f.pair(e, f.table, path)
			}
		}
	}
	return f
}

// meets reports whether a key means something, and keeps what is wrong with it.
func (f *keyFinder) meets(parts []string, at Place) bool {
	last := len(parts) - 1
	allowed := allowedKeys(parts[:last])
	wrong := &Error{Place: at, Key: strings.Join(parts, "."), Text: "unknown key"}
	if typeAt(parts, strings.EqualFold) == nil {
		if len(allowed) > 0 {
			wrong.Text += ". Allowed here: " + strings.Join(allowed, ", ")
		}
		f.unknown = append(f.unknown, wrong)
		return false
	}
	// The decoder would take Axle for axle, and of both together silently one.
	for _, right := range allowed {
		if right != parts[last] && strings.EqualFold(right, parts[last]) {
			wrong.Text += "; write it " + right
			f.capitals = append(f.capitals, wrong)
		}
	}
	return true
}

// pair indexes a key that stands in a table, and goes into its value.
func (f *keyFinder) pair(e *unstable.Node, table []string, path string) {
	name, at := f.keyName(e)
	parts := slices.Concat(table, name)
	if !f.meets(parts, at) {
		return
	}
	path = joinPath(path, strings.Join(name, "."))
	f.keys[path] = at
	f.inline(e.Value(), parts, path)
}

// inline goes into an inline table or an array of them.
func (f *keyFinder) inline(v *unstable.Node, parts []string, path string) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			f.pair(it.Node(), parts, path)
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next(); i++ {
			f.inline(it.Node(), parts, joinPath(path, strconv.Itoa(i)))
		}
	}
}

// keyName is the parts of a dotted key and the place where it begins.
func (f *keyFinder) keyName(e *unstable.Node) (parts []string, at Place) {
	for it := e.Key(); it.Next(); {
		n := it.Node()
		if at.Line == 0 {
			at = f.at(int(n.Raw.Offset))
		}
		parts = append(parts, string(n.Data))
	}
	return parts, at
}

// at is the place of an offset. A sheet has few keys: each costs a pass over the text.
func (f *keyFinder) at(offset int) Place {
	before := f.text[:offset]
	return Place{1 + bytes.Count(before, []byte("\n")), offset - bytes.LastIndexByte(before, '\n')}
}

func joinPath(table, key string) string { return strings.TrimPrefix(table+"."+key, ".") }

// place gives each mistake the place of its key, or of the table that lacks it.
func (k keyIndex) place(found []mistake) []*Error {
	var placed []*Error
	for _, m := range found {
		e := &Error{Key: plainPath(m.path), Text: m.text}
		for path := m.path; path != "" && e.Line == 0; path = path[:max(0, strings.LastIndexByte(path, '.'))] {
			e.Place = k[path]
		}
		placed = append(placed, e)
	}
	return placed
}

// plainPath drops the counters: "window.0.lower" is window.lower to a reader.
func plainPath(path string) string {
	parts := strings.Split(path, ".")
	parts = slices.DeleteFunc(parts, func(p string) bool {
		_, err := strconv.Atoi(p)
		return err == nil
	})
	return strings.Join(parts, ".")
}

// sheetType is the Go type at a dotted key of the sheet, nil if there is none.
func sheetType(key []string) reflect.Type {
	return typeAt(key, func(a, b string) bool { return a == b })
}

// typeAt is sheetType with names that are the same in the caller's eyes.
func typeAt(key []string, same func(a, b string) bool) reflect.Type {
	t := reflect.TypeFor[Sheet]()
	for _, part := range key {
		t = element(t)
		i := slices.IndexFunc(fieldKeys(t), func(name string) bool { return same(name, part) })
		if i < 0 {
			return nil
		}
		t = t.Field(i).Type
	}
	return t
}

// element is what a list or an optional value is made of.
func element(t reflect.Type) reflect.Type {
	for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	return t
}

// allowedKeys lists the keys of the table at a dotted key.
func allowedKeys(table []string) []string {
	if t := sheetType(table); t != nil {
		return fieldKeys(element(t))
	}
	return nil
}

// fieldKeys lists the keys of a table; a value has none.
func fieldKeys(t reflect.Type) []string {
	if t.Kind() != reflect.Struct {
		return nil
	}
	var keys []string
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("toml"), ",")
		keys = append(keys, key)
	}
	return keys
}

// valueWords say what may stand for a value, by its type.
var valueWords = map[string]string{
	"int":      "a whole number",
	"float64":  "a number such as 0.15",
	"string":   `text in quotes such as "rear"`,
	"bool":     "true or false",
	"[]int":    "whole numbers in square brackets, such as [30, 60, 100]",
	"[]string": `texts in square brackets, such as ["as-found", "final"]`,
}

// allowedType says in words what may stand at a dotted key.
func allowedType(key []string) string {
	t := sheetType(key)
	if t == nil || len(key) == 0 {
		return ""
	}
	words, found := valueWords[strings.TrimPrefix(t.String(), "*")]
	switch {
	case found:
		return words
	case t.Kind() == reflect.Slice:
		return "tables, each headed [[" + key[len(key)-1] + "]]"
	}
	return "a table"
}
