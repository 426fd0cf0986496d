package dashboard

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/record"
)

// TestRingShowsEveryPosition draws rings of every usual number of positions:
// each mark stands at its angle and no two labels run into one another.
func TestRingShowsEveryPosition(t *testing.T) {
	for n := 2; n <= 16; n++ {
		for current := range n {
			v := base(record.FeatureBacklash)
			values := make([]float64, n)
			for i := range values {
				values[i] = 0.101 + 0.011*float64(i)
			}
			around(&v, n, current, values[:current]...)
			c := newCanvas(32, 13, false)
			ring(c, ringMarks(v.Positions, 3), labelWidth(v), "", "")
			text := c.String()
			name := fmt.Sprintf("%d of %d\n%s", current+1, n, text)
			assert.Equal(t, current, countRunes(text, "●◆△"), name)
			assert.Equal(t, n-current, countRunes(text, "○"), name)
			for i := range current {
				full := units.Fixed(values[i], 3)
				assert.Contains(t, text, strings.TrimPrefix(full, "0"), name)
			}
		}
	}
}

func countRunes(s, set string) int {
	n := 0
	for _, r := range s {
		if strings.ContainsRune(set, r) {
			n++
		}
	}
	return n
}

func TestMarksStandAtTheirAngles(t *testing.T) {
	g := circleShape{cx: 20, cy: 10, r: 8}
	for _, c := range []struct {
		deg  float64
		x, y int
	}{{0, 20, 2}, {90, 36, 10}, {180, 20, 18}, {270, 4, 10}, {368, 22, 2}} {
		x, y := g.cell(c.deg)
		assert.Equal(t, [2]int{c.x, c.y}, [2]int{x, y}, "%g degrees", c.deg)
	}
}

func TestRingTellsVerdictsByShape(t *testing.T) {
	shapes := map[rune]bool{}
	for _, v := range []gum.Verdict{gum.Inside, gum.Outside, gum.TooClose, gum.NotDecided} {
		mark := verdictLooks[v].mark
		shapes[mark] = true
		for plain, others := range plainRunes {
			if strings.ContainsRune(others, mark) {
				shapes[plain] = true
			}
		}
	}
	assert.Len(t, shapes, 8, "each verdict has a shape of its own, in ASCII too")
}

func TestPositionsWithoutAnglesStandEvenly(t *testing.T) {
	v := boltsScene()
	marks := ringMarks(v.Positions, 1)
	for i, m := range marks {
		assert.InDelta(t, 30*float64(i), m.deg, 1e-9)
	}
	assert.False(t, math.IsNaN(marks[0].deg))
}
