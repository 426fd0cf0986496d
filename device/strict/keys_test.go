package strict

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// TestKeysIn: headings and keys with their places, those of inline tables too, and nothing in a text.
func TestKeysIn(t *testing.T) {
	text := "a = 1\r\n# b = 2\n\n  [ t ] # x\n\tc = \"=\"\nd = \"\"\"\ne = 3\n\"\"\"\n[[w]]\nf=[\n  4,\n]\n[[w]]\nf = {g = 1, h.i = 2}"
	keys, table := keysIn([]byte(text))
	assert.Equal(t, "w.#1", table)
	assert.Equal(t, []key{
		{"a", Place{1, 1}}, {"t", Place{4, 5}}, {"t.c", Place{5, 2}}, {"t.d", Place{6, 1}},
		{"w.#0", Place{9, 3}}, {"w.#0.f", Place{10, 1}}, {"w.#1", Place{13, 3}}, {"w.#1.f", Place{14, 1}}, {"w.#1.f.g", Place{14, 6}}, {"w.#1.f.h.i", Place{14, 13}},
	}, keys)
}

// TestQuotedValues: as much of a value as tells which one it is.
func TestQuotedValues(t *testing.T) {
	long := strings.Repeat("ä", 60)
	for value, want := range map[string]string{
		`"eleven" # teeth`: `"eleven"`, `'a,b'`: `'a,b'`, "1.5 # teeth": "1.5", "[1, 2]": "[1", "1e99": "1e99", "": "this",
		`"` + long[2:] + `"`: `"` + long[2:] + "…", `"` + long[4:] + `"`: `"` + long[4:] + `"`,
	} {
		assert.Equal(t, want, shown("x = "+value, 5), value)
	}
}
