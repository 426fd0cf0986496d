package export

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"time"

	"crownlog/logger/record"
)

// importNumber reads a finite decimal number. A decimal comma is read only
// where it is allowed; a thousands separator never is.
func importNumber(text string, decimalComma bool) (float64, error) {
	s := strings.TrimSpace(text)
	if s == "" {
		return 0, errors.New("is empty")
	}
	if decimalComma && strings.Count(s, ",") == 1 && !strings.Contains(s, ".") {
		s = strings.Replace(s, ",", ".", 1)
	}
	// strconv reads more than decimals: hexadecimal, with its underscores, and the
	// words for infinity and not-a-number.
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || strings.IndexFunc(s, func(c rune) bool { return c|0x20 == 'x' || c|0x20 == 'n' }) >= 0 {
		return 0, fmt.Errorf("%q is not a finite number", record.CutLong(text))
	}
	return v, nil
}

// A rowClock reads the time column: seconds as they are, or dates as seconds
// from the first. A file holds one kind, and time never goes back in it.
type rowClock struct {
	started bool
	dates   bool
	origin  time.Time
	last    float64
}

func (c *rowClock) read(text string, decimalComma bool) (v float64, err error) {
	s := strings.TrimSpace(text)
	dates := strings.Contains(s, ":") // which no number has
	if c.started && dates != c.dates {
		return 0, fmt.Errorf("time %q is not of the kind that the rows before have: seconds, or dates", record.CutLong(text))
	}
	if dates {
		var t time.Time
		t, err = time.Parse(time.RFC3339Nano, s)
		v = c.since(t)
	} else {
		v, err = importNumber(s, decimalComma)
	}
	if err != nil {
		return 0, fmt.Errorf("time %q is neither seconds nor an RFC 3339 date", record.CutLong(text))
	}
	if !c.forward(v) {
		return 0, fmt.Errorf(goesBack, record.CutLong(text))
	}
	return v, nil
}

// since is seconds since the first date.
func (c *rowClock) since(t time.Time) float64 {
	if !c.started {
		c.origin, c.dates = t, true
	}
	return t.Sub(c.origin).Seconds()
}

const goesBack = "time %q goes back: was the clock set back meanwhile? Cut the file in two there"

// forward takes v for the latest time, unless it is before that.
func (c *rowClock) forward(v float64) bool {
	if c.started && v < c.last {
		return false
	}
	c.started, c.last = true, v
	return true
}
