package frame

import "bytes"

// A LineCutter cuts a stream into lines, with bounded memory: of a line that
// is too long the beginning is handed on at once and the rest is dropped.
type LineCutter struct {
	end  string                      // endAny, endIdle or the bytes; a CR before LF belongs to it
	most int                         // longest line
	line func(line []byte, cut bool) // takes each line, or the beginning of one that is too long
	buf  []byte
	skip bool // the line is over the limit; drop the rest of it

	number int  // lines that have ended, empty ones too
	last   byte // the byte before
}

// NewLineCutter returns a cutter of lines that end in CR, LF or both. line
// takes each that is not empty, or the first most bytes of one that is longer
// and cut; the bytes are valid until it returns.
func NewLineCutter(most int, line func(line []byte, cut bool)) *LineCutter {
	return &LineCutter{end: endAny, most: most, line: line}
}

// What ends a line besides bytes of its own.
const (
	endAny  = "any"  // CR or LF; empty lines are nothing
	endIdle = "idle" // nothing: Flush is called in a pause
)

// lineEnds are the ends that have a name.
var lineEnds = map[string]string{"": endAny, endAny: endAny, "cr": "\r", "lf": "\n", "crlf": "\r\n", endIdle: endIdle}

// Feed takes the next bytes.
func (c *LineCutter) Feed(p []byte) {
	for _, b := range p {
		second := c.end == endAny && b == '\n' && c.last == '\r' // of a line end of two bytes
		if c.last = b; second {
			continue
		}
		c.buf = append(c.buf, b)
		own := 0 // bytes of the line end
		switch {
		case c.end == endAny && (b == '\r' || b == '\n'):
			own = 1
		case c.end != endAny && c.end != endIdle && b == c.end[len(c.end)-1] && bytes.HasSuffix(c.buf, []byte(c.end)):
			own = len(c.end)
		}
		if own > 0 {
			c.buf = c.buf[:len(c.buf)-own]
			if b == '\n' {
				c.buf = bytes.TrimSuffix(c.buf, []byte("\r"))
			}
			c.Flush()
			c.number++
			continue
		}
		if !c.skip && len(c.buf) > c.most+1 { // one byte of its end may be in it
			c.line(c.buf[:c.most], true)
			c.skip = true
		}
		if c.skip {
			c.buf = append(c.buf[:0], c.buf[max(0, len(c.buf)-len(c.end)):]...)
		}
	}
}

// Number is that of the line which is being cut, from 1: of the one handed on
// while it is. Empty lines count.
func (c *LineCutter) Number() int { return c.number + 1 }

// Flush takes the end of the stream for the end of a line.
func (c *LineCutter) Flush() {
	if n := len(c.buf); n > 0 && !c.skip {
		c.line(c.buf[:min(n, c.most)], n > c.most)
	}
	c.drop()
}

// drop forgets the beginning of a line.
func (c *LineCutter) drop() { c.buf, c.skip = c.buf[:0], false }
