package strict

import (
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"
)

// A Place is where something stands in a file, 1-based; its zero value is the file
// as a whole.
type Place struct{ Line, Column int }

// A key is a heading or a key of a file. The tables of a list count from 0:
// "window.#0.lower".
type key struct {
	path string
	Place
}

// keysIn lists the headings and keys of a text as far as it is TOML, those of inline
// tables too, in their order, and the table it ends in.
func keysIn(text []byte) (keys []key, table string) {
	var p unstable.Parser
	p.Reset(text)
	count := make(map[string]int)
	var walk func(table string, n *unstable.Node) string
	walk = func(table string, n *unstable.Node) string {
		var parts []string
		var at unstable.Position
		for it := n.Key(); it.Next(); {
			if len(parts) == 0 {
				at = p.Shape(it.Node().Raw).Start
			}
			parts = append(parts, string(it.Node().Data))
		}
		path := strings.TrimPrefix(table+"."+strings.Join(parts, "."), ".")
		if n.Kind == unstable.ArrayTable {
			count[path]++
			path += ".#" + strconv.Itoa(count[path]-1)
		}
		keys = append(keys, key{path, Place{at.Line, at.Column}})
		if n.Kind == unstable.KeyValue && n.Value().Kind == unstable.InlineTable {
			for it := n.Value().Children(); it.Next(); {
				walk(path, it.Node())
			}
		}
		return path
	}
	for p.NextExpression() {
		switch e := p.Expression(); e.Kind {
		case unstable.Table, unstable.ArrayTable:
			table = walk("", e)
		case unstable.KeyValue:
			walk(table, e)
		}
	}
	return keys, table
}

// nearest is the place of a key, or of the nearest table around it.
func nearest(keys []key, path string) Place {
	for ; path != ""; path = path[:max(0, strings.LastIndexByte(path, '.'))] {
		if i := slices.IndexFunc(keys, func(k key) bool { return k.path == path }); i >= 0 {
			return keys[i].Place
		}
	}
	return Place{}
}

// plain drops the counters: "window.#0.lower" is window.lower to a reader.
func plain(path string) string { return counter.ReplaceAllString(path, "") }

// counter is the number of a table in a list; no bare key has that mark.
var counter = regexp.MustCompile(`\.#\d+`)

// typeAt is the Go type at a path of t, nil if there is none.
func typeAt(t reflect.Type, path string) reflect.Type {
	if path == "" {
		return t
	}
	for part := range strings.SplitSeq(plain(path), ".") {
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
		if f.IsExported() {
			name, _, _ := strings.Cut(f.Tag.Get("toml"), ",")
			keys = append(keys, name)
		}
	}
	return keys
}

// valueWords say what may stand for a value, by its kind, that of a list with brackets.
var valueWords = map[string]string{
	"int":      "a whole number",
	"float64":  "a number such as 0.15",
	"string":   "text in quotes",
	"bool":     "true or false",
	"struct":   "a table",
	"map":      "a table",
	"[]int":    "whole numbers in square brackets, such as [30, 60, 100]",
	"[]string": "texts in quotes, in square brackets",
}

// allowedAt says in words what may stand at a path; "" where nothing may.
func allowedAt(t reflect.Type, path string) string {
	t = typeAt(t, path)
	if t == nil || path == "" {
		return ""
	}
	kind := element(t).Kind().String()
	if t.Kind() == reflect.Slice {
		kind = "[]" + kind
	}
	if kind == "[]struct" {
		return "tables, each headed [[" + path[strings.LastIndexByte(path, '.')+1:] + "]]"
	}
	return valueWords[kind]
}
