package words

import (
	"strconv"
	"strings"
)

// Given is a text that is said where something is so, else nothing.
func Given(so bool, text string) string {
	if so {
		return text
	}
	return ""
}

// List joins words as a sentence does: "3, 5 and 8".
func List(words []string) string {
	last := len(words) - 1
	if last < 1 {
		return strings.Join(words, "")
	}
	return strings.Join(words[:last], ", ") + " and " + words[last]
}

// Places says "position 3" or "positions 3, 5 and 8"; where there are none, the
// word for a place alone.
func Places(place string, numbers []int) string {
	var words []string
	for _, n := range numbers {
		words = append(words, strconv.Itoa(n))
	}
	if len(words) > 1 {
		place += "s"
	}
	return strings.TrimSpace(place + " " + List(words))
}
