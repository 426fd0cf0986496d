package frame

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
)

// rockingLines are what a gauge sends while a wheel is rocked; invented.
func rockingLines(n int) []byte {
	var b bytes.Buffer
	for i := range n {
		fmt.Fprintf(&b, "%+.3f mm\r\n", 0.08+0.08*math.Sin(float64(i)/9))
	}
	return b.Bytes()
}

func TestTextDecodeDoesNotAllocate(t *testing.T) {
	lines := rockingLines(100)
	d := textOf(t, Text{})
	sound := 0
	emit := func(f *Frame) {
		if f.Bad == "" {
			sound++
		}
	}
	assert.Zero(t, testing.AllocsPerRun(100, func() { d.Feed(time.Time{}, lines, emit) }))
	assert.Equal(t, 101*100, sound)
}

// The two benchmarks decode the same lines; ns/op is for one line.

func BenchmarkTextDecode(b *testing.B) {
	lines := rockingLines(1000)
	d := textOf(b, Text{})
	sound := 0
	emit := func(f *Frame) {
		if f.Bad == "" {
			sound++
		}
	}
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		d.Feed(time.Time{}, lines[i%1000*11:i%1000*11+11], emit)
	}
	if sound != b.N {
		b.Fatalf("%d of %d lines decoded", sound, b.N)
	}
}

func BenchmarkTextDecodeBaseline(b *testing.B) {
	lines := rockingLines(1000)
	re := regexp.MustCompile(`^\s*([+-]?\d+\.\d+)\s*(mm|in)?\s*$`)
	sum, n := 0.0, 0
	b.ReportAllocs()
	var s *bufio.Scanner
	for b.Loop() {
		if n%1000 == 0 {
			s = bufio.NewScanner(bytes.NewReader(lines))
		}
		n++
		if !s.Scan() {
			b.Fatal("no line")
		}
		m := re.FindStringSubmatch(s.Text())
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			b.Fatal(err)
		}
		sum += v
	}
}
