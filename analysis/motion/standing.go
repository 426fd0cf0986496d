package motion

import (
	"math"

	"crownlog/analysis"
	"crownlog/analysis/internal/stat"
)

// standSeconds is how long a reading stands to be a rest: longer than a hand pauses
// on its way. fewestStanding readings tell a rest of a slow gauge from the end of a
// movement.
const (
	standSeconds   = 0.6
	fewestStanding = 6
)

// A Standing tells, reading by reading, where a gauge comes to rest after it moved:
// once for each rest. Its zero value is ready. It keeps the last standSeconds.
type Standing struct {
	Step   float64 // of the display, in mm; 0: not known
	recent []analysis.Sample
	taken  bool       // of the rest under way
	level  float64    // of the rest taken last
	away   [2]float64 // the two readings farthest from it since, as distances, the farther first
}

// Add takes the next reading in mm and reports the mean of a rest that it completes,
// and how far the readings went from the rest before, one wild one apart. A rest
// scatters by three and a half deviations of its own noise to either side, or by two
// counts of the display; noise of more than what hangs free moves by is no rest.
func (m *Standing) Add(s analysis.Sample) (level, moved float64, rested bool) {
	if !stat.Sensible(s.X) || !stat.Sensible(s.T) {
		return 0, 0, false
	}
	m.recent = append(m.recent, s)
	for len(m.recent) > fewestStanding && m.recent[1].T <= s.T-standSeconds {
		m.recent = m.recent[1:]
	}
	switch far := math.Abs(s.X - m.level); {
	case far > m.away[0]:
		m.away = [2]float64{far, m.away[0]}
	case far > m.away[1]:
		m.away[1] = far
	}
	if len(m.recent) < fewestStanding || analysis.Span(m.recent) < standSeconds {
		return 0, 0, false
	}
	x := analysis.Values(m.recent)
	// The second differences of a steady movement are nothing but noise.
	noise := stat.StdDev(stat.Differences(stat.Differences(x))) / math.Sqrt(6)
	low, high := stat.Extremes(x)
	if high-low > math.Max(2.1*m.Step, math.Min(7*noise, stillRange)) {
		m.taken = false
		return 0, 0, false
	}
	if m.taken {
		return 0, 0, false
	}
	level, moved = stat.Mean(x), m.away[1]
	m.taken, m.level, m.away = true, level, [2]float64{}
	return level, moved, true
}
