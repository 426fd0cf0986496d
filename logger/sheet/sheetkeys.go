package sheet

import (
	"bytes"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// A Place is where something stands in a file, 1-based; its zero value is the
// file as a whole.
type Place struct{ Line, Column int }

// A keyLine is a line of a sheet that begins with a heading or a key. An array of
// tables counts from 0: "window.0.lower".
type keyLine struct {
	path string
	Place
}

// keyLines finds headings and keys by how lines begin. A key that stands elsewhere,
// in an inline table, is found by nobody, and told by the line it is in.
func keyLines(text []byte) (keys []keyLine) {
	table, number, quoted := "", 0, false
	count := make(map[string]int)
	for raw := range bytes.Lines(text) {
		line, inText := string(raw), quoted
		name := strings.TrimLeft(line, " \t[")
		at := Place{number + 1, len(line) - len(name) + 1}
		number++
		quoted = quoted != ((strings.Count(line, `"""`)+strings.Count(line, "'''"))%2 == 1)
		key, _, pair := strings.Cut(name, "=")
		switch heading := strings.Trim(line[:at.Column-1], " \t"); {
		case inText:
		case heading != "":
			table, _, _ = strings.Cut(name, "]")
			table = strings.TrimSpace(table)
			if heading == "[[" {
				count[table]++
				table += "." + strconv.Itoa(count[table]-1)
			}
			keys = append(keys, keyLine{table, at})
		case pair && !strings.HasPrefix(name, "#"):
			keys = append(keys, keyLine{strings.TrimPrefix(table+"."+strings.TrimSpace(key), "."), at})
		}
	}
	return keys
}

// capitals are the keys in other letters than the sheet's own. The decoder would take
// Axle for axle, and of both together silently one.
func capitals(keys []keyLine) (wrong []*Error) {
	for _, k := range keys {
		own := plainPath(strings.ToLower(k.path))
		if key := plainPath(k.path); key != own && sheetType(strings.Split(own, ".")) != nil {
			wrong = append(wrong, &Error{Place: k.Place, Key: key, Text: "unknown key; write it " + own[strings.LastIndexByte(own, '.')+1:]})
		}
	}
	return wrong
}

// unknownKeys are the keys that no sheet has. Those of an inline table are known by
// their own name only.
func unknownKeys(missing *toml.StrictMissingError, keys []keyLine) (wrong []*Error) {
	for _, m := range missing.Errors {
		line, column := m.Position()
		e := &Error{Place: Place{line, column}, Key: strings.Join(m.Key(), "."), Text: "unknown key"}
		allowed := fieldKeys(sheetType(m.Key()[:len(m.Key())-1]))
		if len(allowed) > 0 && slices.ContainsFunc(keys, func(k keyLine) bool { return k.Place == e.Place }) {
			e.Text += ". Allowed here: " + strings.Join(allowed, ", ")
		}
		wrong = append(wrong, e)
	}
	return wrong
}

// placed gives each mistake the place of its key, or of the table that lacks it.
func placed(found []*Error, keys []keyLine) []*Error {
	for _, e := range found {
		for path := e.Key; path != "" && e.Line == 0; path = path[:max(0, strings.LastIndexByte(path, '.'))] {
			for _, k := range keys {
				if k.path == path {
					e.Place = k.Place
				}
			}
		}
		e.Key = plainPath(e.Key)
	}
	return found
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
	t := reflect.TypeFor[Sheet]()
	for _, part := range key {
		i := slices.Index(fieldKeys(t), part)
		if i < 0 {
			return nil
		}
		t = element(t).Field(i).Type
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

// fieldKeys lists the keys of a table, or of each in a list; a value and no type
// have none.
func fieldKeys(t reflect.Type) (keys []string) {
	if t == nil || element(t).Kind() != reflect.Struct {
		return nil
	}
	for f := range element(t).Fields() {
		key, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
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
