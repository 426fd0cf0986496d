package device

import (
	"errors"
	"strings"

	"github.com/pelletier/go-toml/v2/unstable"

	"crownlog/device/frame"
)

// inTable returns err as one of the key it names, in the table. A decoder
// begins its message with the key, unless it gives the path.
func inTable(table string, err error) *frame.KeyError {
	var ke *frame.KeyError
	if errors.As(err, &ke) {
		return &frame.KeyError{Key: table + "." + ke.Key, Err: ke.Err}
	}
	key, _, _ := strings.Cut(err.Error(), " ")
	return &frame.KeyError{Key: table + "." + key, Err: err}
}

type keyPlace struct{ line, column int }

// position returns the place of the key that an error names, or of the table
// where the key is missing, or 1, 1.
func position(b []byte, err error) (line, column int) {
	var ke *frame.KeyError
	if !errors.As(err, &ke) {
		return 1, 1
	}
	places := keyPlaces(b)
	for key := ke.Key; key != ""; {
		if at, ok := places[key]; ok {
			return at.line, at.column
		}
		key = key[:max(0, strings.LastIndexByte(key, '.'))]
	}
	return 1, 1
}

// keyPlaces finds every key and table of a TOML text by its path. The parser
// forgets where a value stood once it is decoded, so the text is read again for
// the message of a value that is well formed and impossible.
func keyPlaces(b []byte) map[string]keyPlace {
	places := map[string]keyPlace{}
	var p unstable.Parser
	p.Reset(b)
	table := ""
	for p.NextExpression() {
		e := p.Expression()
		if e.Kind == unstable.Table { // no profile has a table of arrays
			table = placeKey(&p, e, "", places)
		}
		placeKeyValue(&p, e, table, places)
	}
	return places
}

// placeKeyValue notes a key of a table, and those of an inline table behind it.
func placeKeyValue(p *unstable.Parser, e *unstable.Node, table string, places map[string]keyPlace) {
	if e.Kind != unstable.KeyValue {
		return
	}
	path := placeKey(p, e, table, places)
	if v := e.Value(); v.Kind == unstable.InlineTable {
		for it := v.Children(); it.Next(); {
			placeKeyValue(p, it.Node(), path, places)
		}
	}
}

// placeKey notes the dotted key of an expression and returns its path.
func placeKey(p *unstable.Parser, e *unstable.Node, path string, places map[string]keyPlace) string {
	var start unstable.Position
	for it := e.Key(); it.Next(); {
		path = strings.TrimPrefix(path+"."+string(it.Node().Data), ".")
		if start.Line == 0 {
			start = p.Shape(it.Node().Raw).Start
		}
		if _, known := places[path]; !known {
			places[path] = keyPlace{start.Line, start.Column}
		}
	}
	return path
}
