package frame

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestLineCutter(t *testing.T) {
	var got []string
	c := NewLineCutter(4, func(line []byte, cut bool) { got = append(got, fmt.Sprintf("%s %t", line, cut)) })
	c.Feed([]byte("a\n\r\nbc"))
	c.Feed([]byte("de\rabcdef"))
	c.Feed([]byte("gh\nx"))
	assert.Equal(t, []string{"a false", "bcde false", "abcd true"}, got)
	c.Flush()
	c.Flush()
	assert.Equal(t, []string{"a false", "bcde false", "abcd true", "x false"}, got)
}
