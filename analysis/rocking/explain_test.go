package rocking

import (
	"encoding/csv"
	"flag"
	"fmt"
	"io"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
)

var explained = flag.String("explain", "", "a CSV file of time and value, in seconds and mm: print what the detector sees in it")

// TestExplain prints the chart of one trace with what the detector saw: dwells,
// stops, the explanation chosen and the approach. A trace of one's own:
//
//	go test ./analysis/rocking -run TestExplain -v -explain trace.csv
func TestExplain(t *testing.T) {
	s := rockTrace{Seed: 5, Hands: "scripted", Backlash: 0.15, Rate: 50, Resolution: 0.001, Noise: 0.001, Rocks: 4, Dwell: 0.5, Traverse: 0.2, Creep: 0.06}.make()
	if *explained != "" {
		s = readTrace(t, *explained)
	}
	chart := explanationOf(s)
	t.Log("\n" + chart)
	if *explained == "" {
		assert.Contains(t, chart, "drift")
		assert.Contains(t, chart, "base-creep")
		assert.Equal(t, 9, strings.Count(chart, " stop "))
	}
}

func readTrace(t *testing.T, name string) (s []analysis.Sample) {
	file, err := os.Open(name)
	require.NoError(t, err)
	defer file.Close()
	for r := csv.NewReader(file); ; {
		row, err := r.Read()
		if err == io.EOF {
			return s
		}
		require.NoError(t, err)
		at, err1 := strconv.ParseFloat(row[0], 64)
		x, err2 := strconv.ParseFloat(row[1], 64)
		if err1 == nil && err2 == nil { // else the header
			s = append(s, analysis.Sample{T: at, X: x})
		}
	}
}

// explanationOf draws the trace, sixty lines of a time each, and lists what was
// seen in it.
func explanationOf(s []analysis.Sample) string {
	const lines, width = 60, 72
	var b strings.Builder
	r := New(Options{Quiet: true})
	for _, v := range s {
		r.Add(v)
	}
	if r.cur.n > 0 {
		r.flush()
	}
	var open *dwell
	if r.dwelling {
		d := r.settled()
		open = &d
	}
	j := judge(&r.segmenter, &r.scratch, open)
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, v := range s {
		lo, hi = math.Min(lo, v.X), math.Max(hi, v.X)
	}
	column := func(x float64) int { return int(math.Round((x - lo) / math.Max(hi-lo, 1e-9) * (width - 1))) }
	first, last := s[0].T, s[len(s)-1].T
	for i := range lines {
		from, to := first+(last-first)*float64(i)/lines, first+(last-first)*float64(i+1)/lines
		row := []byte(strings.Repeat(" ", width))
		for _, v := range s {
			if v.T >= from && v.T < to {
				row[column(v.X)] = '.'
			}
		}
		note := ""
		for _, c := range slices.Concat(j.s.turns, j.s.passed) {
			if c.from < to && c.to >= from {
				row[column(c.level+r.origin)] = map[bool]byte{true: '#', false: '+'}[c.dwelt]
			}
			if middle := (c.from + c.to) / 2; middle >= from && middle < to {
				note = fmt.Sprintf("%.4f mm, %.2f s, %d readings", c.level+r.origin, c.to-c.from, c.n)
				if c.outlier {
					note += ", left out"
				}
			}
		}
		fmt.Fprintf(&b, "%8.2f s |%s| %s\n", from, row, note)
	}
	trends := func(c trend) string {
		switch {
		case c.slope != 0:
			return fmt.Sprintf("drift of %.4f mm/s", c.slope)
		case c.step != 0:
			return fmt.Sprintf("step of %.4f mm before stop %d", c.step, c.from)
		}
		return "steady"
	}
	for _, c := range j.s.dwelt {
		fmt.Fprintf(&b, "%8.2f s stop at %.4f mm, high %v, out %v\n", c.t, c.level+r.origin, c.high, c.outlier)
	}
	p := j.estimate()
	fmt.Fprintf(&b, "high: %s; low: %s; base nudged: %v; faults %v\n", trends(j.high), trends(j.low), j.nudged, j.faults.list())
	fmt.Fprintf(&b, "tolerance of a dwell %.4f mm, swing %.4f mm, count %g mm, noise %.5f mm\n", r.tol, j.swing, r.count(), r.noise.sigma())
	fmt.Fprintf(&b, "approach %+v, taken off %.5f ± %.5f mm, film %v, late %v\n", j.s.approach(j.readingNoise(), j.swing), p.taken, 2*p.creepU, p.film, p.late)
	fmt.Fprintf(&b, "distance %.5f mm of %d strokes\n", p.mean, p.n)
	return b.String()
}
