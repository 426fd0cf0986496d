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

func (c *rowClock) read(text string, decimalComma bool) (float64, error) {
	s := strings.TrimSpace(text)
	if v, err := importNumber(s, decimalComma); err == nil {
		if c.started && c.dates {
			return 0, fmt.Errorf("time %q is seconds where the rows before have dates", record.CutLong(text))
		}
		return c.forward(v, func() string { return text })
	}
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return 0, fmt.Errorf("time %q is neither seconds nor an RFC 3339 date", record.CutLong(text))
	}
	if c.started && !c.dates {
		return 0, fmt.Errorf("time %q is a date where the rows before have seconds", record.CutLong(text))
	}
	return c.date(t)
}

// date is seconds since the first date.
func (c *rowClock) date(t time.Time) (float64, error) {
	if !c.started {
		c.origin, c.dates = t, true
	}
	return c.forward(t.Sub(c.origin).Seconds(), func() string { return t.Format(time.RFC3339Nano) })
}

func (c *rowClock) forward(v float64, text func() string) (float64, error) {
	if c.started && v < c.last {
		return 0, fmt.Errorf("time %q goes back: was the clock set back meanwhile? Cut the file in two there", record.CutLong(text()))
	}
	c.started, c.last = true, v
	return v, nil
}
