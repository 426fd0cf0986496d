package motion

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis"
)

// followed runs the readings, one each eighth of a second, and returns when which
// change came.
func followed(l *Lift, x ...float64) map[LiftChange][]int {
	seen := map[LiftChange][]int{}
	for i, v := range x {
		if c := l.Add(analysis.Sample{T: float64(i) / 8, X: v}); c != LiftNone {
			seen[c] = append(seen[c], i)
		}
	}
	return seen
}

func TestLift(t *testing.T) {
	for _, c := range []struct {
		name     string
		x        []float64
		up, down []int
		tap      bool
	}{
		{"rocking", []float64{0, 0.15, 0, 0.79, 0, -0.79}, nil, nil, false},
		{"at the limit", []float64{0, 0.8, 0.8, 0.8}, nil, nil, false},
		{"one wild reading", []float64{0, 5, 0, 5, 0}, nil, nil, false},
		{"a tap", []float64{0, 2, 2, 0, 0, 0, 0}, []int{2}, []int{5}, true},
		{"downward", []float64{0, -2, -2, 0, 0, 0, 0}, []int{2}, []int{5}, true},
		{"as long as a tap may last", []float64{0, 2, 2, 2, 2, 2, 2, 2, 2, 0, 0, 0}, []int{2}, []int{11}, true},
		{"longer than a tap", []float64{0, 2, 2, 2, 2, 2, 2, 2, 2, 2, 0, 0, 0}, []int{2}, []int{12}, false},
		{"touching down for a moment", []float64{0, 2, 2, 0, 2, 2, 0, 0, 0}, []int{2}, []int{8}, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			l := Lift{Limit: DefaultLift}
			seen := followed(&l, c.x...)
			assert.Equal(t, c.up, seen[LiftStarted])
			assert.Equal(t, c.down, seen[LiftOver])
			assert.Equal(t, len(c.up) > len(c.down), l.Up)
			if c.up != nil {
				assert.Equal(t, float64(c.up[0])/8, l.Started)
				assert.Equal(t, c.tap, l.Tap())
			}
		})
	}
}

// The stops are where the wheel was told to dwell, not where the trace began.
func TestLiftKnowsTheStops(t *testing.T) {
	l := Lift{Limit: 0.8}
	l.Rest(3)
	assert.Empty(t, followed(&l, 2.3, 3, 3.7, 3.7, 3))
	assert.Equal(t, []int{1}, followed(&l, 0, 0)[LiftStarted])
	l.Rest(0) // the plunger hangs: no stop
	assert.Equal(t, []int{2}, followed(&l, 3, 3, 3)[LiftOver])
}

// A wheel turned on to a tooth where the indicator reads otherwise.
func TestLiftOntoAnotherLevel(t *testing.T) {
	rocking := func(level, swing float64, n int) (x []float64) {
		for i := range n {
			x = append(x, level+swing*float64(i%2))
		}
		return x
	}
	over := func(x ...[]float64) []int {
		l := Lift{Limit: DefaultLift}
		all := []float64{0}
		for _, part := range x {
			all = append(all, part...)
		}
		return followed(&l, all...)[LiftOver]
	}
	assert.Equal(t, []int{26}, over(rocking(5, 0.15, 40)), "three seconds after the lift began")
	assert.Equal(t, []int{27}, over(rocking(5, 0.15, 2), rocking(8, 0.15, 40)), "from where it moved little on")
	assert.Nil(t, over(rocking(5, 0.019, 200)), "a plunger that hangs free hardly moves")
	assert.Nil(t, over(rocking(5, 1.1, 200)), "nor does rocking move as far")
	l := Lift{Limit: DefaultLift}
	followed(&l, append([]float64{0}, rocking(5, 0.15, 40)...)...)
	assert.Equal(t, 3.25, l.Ended)
	assert.False(t, l.Tap())
	assert.Empty(t, followed(&l, 5, 5.1, 5.7, 4.5), "the new level counts")
}

func TestTap(t *testing.T) {
	for seconds, want := range map[float64]bool{0.1: true, 0.85: true, 0.95: false, 5: false} {
		l := Lift{Started: 10, Ended: 10 + seconds}
		assert.Equal(t, want, l.Tap(), seconds)
	}
}
