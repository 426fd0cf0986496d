package analysis

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestInOrder(t *testing.T) {
	at := func(times ...float64) (s []Sample) {
		for _, v := range times {
			s = append(s, Sample{T: v})
		}
		return s
	}
	for _, c := range []struct {
		name  string
		in    []Sample
		least float64
		kept  int
		gaps  int
	}{
		{"nothing", nil, 0, 0, 0},
		{"one before the clock's start", at(-5), 0, 1, 0},
		{"at one moment and back", at(1, 1, 0.5, 2), 0, 2, 0},
		{"ten times the usual", at(0, 1, 2, 3, 13), 0, 5, 0},
		{"more than that", at(0, 1, 2, 3, 13.5, 14, 26), 0, 7, 2},
		{"more, but short", at(0, 0.01, 0.02, 0.03, 0.4), 0.5, 5, 0},
		{"not numbers", []Sample{{1, math.NaN()}, {math.Inf(1), 1}, {2, 1e10}, {3, 1}}, 0, 1, 0},
	} {
		kept, gaps := InOrder(c.in, Sample.Reading, c.least)
		assert.Len(t, kept, c.kept, c.name)
		assert.Equal(t, c.gaps, gaps, c.name)
	}
}
