package device

import (
	"errors"
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
