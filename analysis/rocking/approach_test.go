package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/internal/dwells"
)

// approached is four stops that go on outward by size(1-exp(-t/tau)), without
// noise, five readings a bin.
func approached(size, tau float64) *judgeScratch {
	middle := func(k int) float64 { return dwells.FirstBin * math.Pow(2, (float64(k)+0.5)/2) }
	mean := 0.0
	for k := range dwells.Bins {
		mean += (1 - math.Exp(-middle(k)/tau)) / dwells.Bins
	}
	s := &judgeScratch{}
	for i := range 4 {
		c := stop{dwelt: true, high: i%2 == 1, Dwell: dwells.Dwell{To: 0.9, Core: 5 * dwells.Bins}}
		for k := range dwells.Bins {
			off := 5 * size * (1 - math.Exp(-middle(k)/tau) - mean)
			c.Creep[k] = dwells.Bin{N: 5, T: 5 * middle(k), Core: 5, Off: off * float64(2*(i%2)-1)}
		}
		s.turns = append(s.turns, c)
	}
	s.split()
	return s
}

// weighed weighs what the stops show.
func weighed(s *judgeScratch, swing float64) approach {
	t := (&judgement{s: s}).total(math.Inf(1))
	return approaching(&t.creep, sharp, 0, swing)
}

const sharp = 1e-8 // mm²: a gauge of 0.1 µm

func TestRegression(t *testing.T) {
	var all [dwells.Bins]dwells.Bin
	for _, c := range approached(0.004, 0.15).high {
		all = c.Creep
	}
	num, den, share := regress(&all, 0.15, 1e-6, 0)
	assert.InDelta(t, 0.004, num/den, 1e-12, "the size")
	assert.Greater(t, share, 0.5)
	assert.Less(t, share, 1.0)
	_, den, share = regress(&[dwells.Bins]dwells.Bin{}, 0.15, 1e-6, 0)
	assert.Equal(t, [2]float64{0, 1}, [2]float64{den, share}, "nothing seen")
}

// Where the contact is: at the beginning of what gives way, at the end of a film.
func TestCauses(t *testing.T) {
	unseen := causes[steel].size
	w := weighed(approached(0.003, 0.16), 0.15)
	assert.Greater(t, w.odds[steel], 0.6)
	assert.Less(t, w.off, -0.001, "taken off")
	assert.InDelta(t, 0.003, w.size, 0.0005)

	w = weighed(approached(0.018, 0.16), 0.15)
	assert.Greater(t, w.odds[filming], 0.7)
	assert.Greater(t, w.off, 0.0, "followed to its end")
	w = weighed(approached(0.008, 0.4), 0.15)
	assert.Greater(t, w.odds[rubber], 0.2)
	assert.Greater(t, w.odds[filming], 0.05)
	assert.Greater(t, w.u, 0.0015, "the readings cannot tell: doubt")

	w = weighed(&judgeScratch{}, 0.15)
	assert.InDelta(t, causes[steel].sd, w.push, 1e-3, "nothing seen: what is usual")
	assert.Less(t, w.off, 0.0)
	assert.False(t, math.IsNaN(w.u))

	s := approached(0.003, 0.16)
	s.turns = append(s.turns, stop{dwelt: true, outlier: true, Dwell: dwells.Dwell{Creep: [dwells.Bins]dwells.Bin{{N: 5, T: 1, Off: 9}}}})
	s.split()
	assert.Equal(t, weighed(approached(0.003, 0.16), 0.15).off, weighed(s, 0.15).off, "outliers left out")

	still := weighed(approached(0, 0.16), 0.15)
	assert.LessOrEqual(t, still.push, UnseenDoubt/math.Sqrt(3)+1e-9, "it does not arrive slowly: no stiff spring")
	assert.InDelta(t, -unseen, still.off, 5e-4)
	assert.InDelta(t, -unseen/2, weighed(approached(0, 0.16), leastUsual/2).off, 4e-4, "a smaller gear gives way by less")
}
