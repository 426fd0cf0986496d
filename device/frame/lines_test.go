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

// A line end of two bytes ends one line, also where it comes in two pieces.
func TestLineCutterNumbersLines(t *testing.T) {
	var got []string
	var c *LineCutter
	c = NewLineCutter(4, func(line []byte, cut bool) { got = append(got, fmt.Sprintf("%d %s", c.Number(), line)) })
	for _, piece := range []string{"a\r", "\nb\r\n\r\n", "\nc\n\n\rd\rtoo long\r\ne"} {
		c.Feed([]byte(piece))
	}
	c.Flush()
	assert.Equal(t, []string{"1 a", "2 b", "5 c", "8 d", "9 too ", "10 e"}, got)
}
