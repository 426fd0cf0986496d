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
	ended  byte // the last byte of a line end; one of two bytes may come as two
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
	for len(p) > 0 {
		i := c.index(p)
		if i < 0 {
			c.hold(p)
			return
		}
		rest := i == 0 && len(c.buf) == 0 && p[0] == '\n' && c.ended == '\r' // of a line end of two bytes
		c.ended = p[i]
		c.hold(p[:i])
		c.Flush()
		if !rest {
			c.number++
		}
		p = p[i+1:]
	}
}

// Number is that of the line which is being cut, from 1: of the one handed on
// while it is. Empty lines count.
func (c *LineCutter) Number() int { return c.number + 1 }

// Flush takes the end of the stream for the end of a line.
func (c *LineCutter) Flush() {
	b := c.buf
	if c.end != endAny && c.end != endIdle {
		b = bytes.TrimSuffix(b, []byte(c.end[:len(c.end)-1]))
	}
	if last := len(b) - 1; last >= 0 && c.mayEnd(b[last]) {
		b = b[:last]
	}
	if len(b) > 0 && !c.skip {
		c.line(b, false)
	}
	c.drop()
}

// drop forgets the beginning of a line.
func (c *LineCutter) drop() { c.buf, c.skip = c.buf[:0], false }

// index returns the index of the byte that ends the line, or -1. Where any end
// will do, the LF behind a CR ends an empty line, which is nothing. The bytes of
// another end may begin in the held part.
func (c *LineCutter) index(p []byte) int {
	switch c.end {
	case endAny:
		return bytes.IndexAny(p, "\r\n")
	case endIdle:
		return -1
	}
	before := len(c.end) - 1
	for from := 0; ; {
		i := bytes.IndexByte(p[from:], c.end[before])
		if i < 0 {
			return -1
		}
		i += from
		if held := before - i; held <= 0 && string(p[i-before:i]) == c.end[:before] ||
			held > 0 && bytes.HasSuffix(c.buf, []byte(c.end[:held])) && string(p[:i]) == c.end[held:before] {
			return i
		}
		from = i + 1
	}
}

// hold keeps the beginning of a line, up to the limit.
func (c *LineCutter) hold(p []byte) {
	if len(p) == 0 {
		return
	}
	if c.skip {
		c.buf = append(c.buf[:0], p[len(p)-1]) // a CR may end it
		return
	}
	if n := len(c.buf) + len(p); n <= c.most || n == c.most+1 && c.mayEnd(p[len(p)-1]) {
		c.buf = append(c.buf, p...)
		return
	}
	c.buf = append(c.buf, p[:max(0, c.most-len(c.buf))]...)
	c.line(c.buf[:c.most], true)
	c.buf = append(c.buf[:0], p[len(p)-1])
	c.skip = true
}

// mayEnd reports whether b, after a line of the longest length, may be the
// beginning of its end.
func (c *LineCutter) mayEnd(b byte) bool { return b == '\r' && c.end[len(c.end)-1] == '\n' }
