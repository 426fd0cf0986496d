package logger

import (
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A keyPlace is where a key or a table heading stands in the sheet.
type keyPlace struct{ line, column int }

// A keyIndex finds keys by path. An array of tables counts from 0:
// "window.0.lower".
type keyIndex map[string]keyPlace

// at is the path of the key that stands there, "" if none does.
func (k keyIndex) at(line, column int) string {
	for path, place := range k {
		if place == (keyPlace{line, column}) {
			return path
		}
	}
	return ""
}

// locateKeys indexes a sheet as far as it can be parsed.
func locateKeys(text []byte) keyIndex {
	keys := make(keyIndex)
	count := make(map[string]int)
	var p unstable.Parser
	p.Reset(text)
	table := ""
	for p.NextExpression() {
		e := p.Expression()
		name, at := keyName(&p, e)
		switch e.Kind {
		case unstable.Table:
			table = name
			keys[table] = at
		case unstable.ArrayTable:
			table = name + "." + strconv.Itoa(count[name])
			count[name]++
			keys[table] = at
		case unstable.KeyValue:
			keys[joinPath(table, name)] = at
			indexInline(&p, e.Value(), joinPath(table, name), keys)
		}
	}
	return keys
}

// indexInline goes into an inline table or an array of them.
func indexInline(p *unstable.Parser, v *unstable.Node, path string, keys keyIndex) {
	switch v.Kind {
	case unstable.InlineTable:
		for it := v.Children(); it.Next(); {
			n := it.Node()
			name, at := keyName(p, n)
			keys[joinPath(path, name)] = at
			indexInline(p, n.Value(), joinPath(path, name), keys)
		}
	case unstable.Array:
		i := 0
		for it := v.Children(); it.Next(); i++ {
			indexInline(p, it.Node(), joinPath(path, strconv.Itoa(i)), keys)
		}
	}
}

// keyName is the dotted key of an expression and the place where it begins.
func keyName(p *unstable.Parser, e *unstable.Node) (string, keyPlace) {
	var parts []string
	var at keyPlace
	for it := e.Key(); it.Next(); {
		n := it.Node()
		if at.line == 0 {
			start := p.Shape(n.Raw).Start
			at = keyPlace{start.Line, start.Column}
		}
		parts = append(parts, string(n.Data))
	}
	return strings.Join(parts, "."), at
}

func joinPath(table, key string) string {
	if table == "" {
		return key
	}
	return table + "." + key
}

// parentPath drops the last part of a path.
func parentPath(path string) string {
	cut := strings.LastIndexByte(path, '.')
	if cut < 0 {
		return ""
	}
	return path[:cut]
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
		for t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer {
			t = t.Elem()
		}
		if t.Kind() != reflect.Struct {
			return nil
		}
		i := slices.Index(fieldKeys(t), part)
		if i < 0 {
			return nil
		}
		t = t.Field(i).Type
	}
	return t
}

// allowedKeys lists the keys of the table at a dotted key.
func allowedKeys(table []string) []string {
	t := sheetType(table)
	for t != nil && (t.Kind() == reflect.Slice || t.Kind() == reflect.Pointer) {
		t = t.Elem()
	}
	if t == nil || t.Kind() != reflect.Struct {
		return nil
	}
	return fieldKeys(t)
}

func fieldKeys(t reflect.Type) []string {
	var keys []string
	for i := range t.NumField() {
		key, _, _ := strings.Cut(t.Field(i).Tag.Get("toml"), ",")
		keys = append(keys, key)
	}
	return keys
}

// allowedType says in words what may stand at a dotted key.
func allowedType(key []string) string {
	t := sheetType(key)
	if t == nil || len(key) == 0 {
		return ""
	}
	if t.Kind() == reflect.Pointer {
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Int:
		return "a whole number"
	case reflect.Float64:
		return "a number such as 0.15"
	case reflect.String:
		return `text in quotes such as "rear"`
	case reflect.Bool:
		return "true or false"
	case reflect.Slice:
		switch t.Elem().Kind() {
		case reflect.Int:
			return "whole numbers in square brackets, such as [30, 60, 100]"
		case reflect.String:
			return `texts in square brackets, such as ["as-found", "final"]`
		}
		return "tables, each headed [[" + key[len(key)-1] + "]]"
	case reflect.Struct:
		return "a table"
	}
	return ""
}

// nearest is the candidate at most two edits from s, "" if there is none.
func nearest(s string, candidates []string) string {
	best, distance := "", 3
	for _, c := range candidates {
		if d := editDistance(s, c); d < distance {
			best, distance = c, d
		}
	}
	return best
}

// editDistance counts the single-character changes between a and b, two
// neighbours that changed places being one (optimal string alignment).
func editDistance(a, b string) int {
	before, last, row := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i := range len(a) {
		row[0] = i + 1
		for j := range len(b) {
			change := last[j]
			if a[i] != b[j] {
				change++
			}
			row[j+1] = min(change, last[j+1]+1, row[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				row[j+1] = min(row[j+1], before[j-1]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(b)]
}
