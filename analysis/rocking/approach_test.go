package rocking

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// slotMiddles stand for the readings of the slots.
var slotMiddles = [slots]float64{0.075, 0.125, 0.175, 0.25, 0.35, 0.5, 0.7, 1, 1.5}

// approached is four stops with an outward creep of size(1-exp(-t/tau)), without
// noise, five readings a slot.
func approached(size, tau, slide float64) *judgeScratch {
	mean := 0.0
	for _, at := range slotMiddles {
		mean += (1 - math.Exp(-at/tau)) / slots
	}
	s := &judgeScratch{}
	for i := range 4 {
		c := stop{dwelt: true, high: i%2 == 1, dwell: dwell{slide: slide, to: 0.9}}
		sign := float64(2*(i%2) - 1)
		for k, at := range slotMiddles {
			c.creep[k] = slot{n: 5, t: 5 * at, core: 5, sum: sign * 5 * size * (1 - math.Exp(-at/tau) - mean)}
		}
		s.turns = append(s.turns, c)
	}
	s.split()
	return s
}

func TestApproachIsFound(t *testing.T) {
	w := approached(0.004, 0.15, 0.05).approach(0.001, 0.15, 0.01)
	assert.InDelta(t, 0.004, w.size, 1e-12)
	mean, den := 0.0, 0.0
	for _, at := range slotMiddles {
		mean += (1 - math.Exp(-at/0.15)) / slots
	}
	for _, at := range slotMiddles {
		den += 20 * math.Pow(1-math.Exp(-at/0.15)-mean, 2)
	}
	assert.InDelta(t, mean, w.share, 1e-12)
	assert.InDelta(t, 0.001/math.Sqrt(den), w.u, 1e-12)
	assert.Zero(t, w.lag, "a hand slides for 0.05 s")

	w = approached(0.008, 0.5, 0.05).approach(0.0003, 0.15, 0.01)
	assert.InDelta(t, 0.008, w.size, 1e-12)
	assert.Equal(t, 0.5, w.tau)

	assert.Zero(t, approached(-0.004, 0.15, 0.05).approach(0.001, 0.15, 0.01).size, "nothing creeps away from its stop")
	assert.Equal(t, approach{unseen: stiffDoubt}, (&judgeScratch{}).approach(0.001, 0.15, 0.01))

	s := approached(0.004, 0.15, 0.05)
	s.turns = append(s.turns, stop{dwelt: true, outlier: true, dwell: dwell{creep: [slots]slot{{n: 5, t: 1, sum: 9}}, end: slot{n: 10, sum: 9}}})
	for i := range 4 {
		s.turns[i].end = slot{n: 10, sum: -0.01 * float64(2*(i%2)-1)}
	}
	s.split()
	w = s.approach(0.001, 0.15, 0.01)
	assert.InDelta(t, 0.004, w.size, 1e-12, "outliers left out")
	assert.InDelta(t, 0.001, w.round, 1e-12, "inward at both")
	assert.InDelta(t, 0.001/math.Sqrt(40), w.roundU, 1e-12)
}

// A lag of τ goes from half of the stroke to A in τ·ln(stroke/2A).
func TestLagIsFound(t *testing.T) {
	const lag, size, stroke = 0.2, 0.012, 0.15
	slide := lag*math.Log(stroke/2/size) + unsharp
	w := approached(size, lag, slide).approach(0.0005, stroke, 0.01)
	assert.InDelta(t, lag, w.tau, 1e-3)
	assert.InDelta(t, size, w.size, 1e-4)
	assert.Equal(t, 1.0, w.lag)
	assert.InDelta(t, math.Exp(-(slide-unsharp+0.8*0.9)/(1.2*lag)), w.left, 1e-3)
}

func TestSlots(t *testing.T) {
	for at, want := range map[float64]int{0.047: -1, 0.049: 0, 0.099: 1, 0.2: 3, 0.5: 5, 1.197: 7, 1.199: 8, 90: 8} {
		assert.Equal(t, want, slotOf(at), at)
	}
}

func TestWhereTheContactIs(t *testing.T) {
	off := func(w approach) (taken, u float64) {
		p := estimate{mean: 0.15}
		w.u, w.tau, w.share = 1e-9, math.Max(w.tau, 0.2), 0.75
		p.contact(w)
		assert.InDelta(t, 0.15-p.mean, p.taken, 1e-15)
		return p.taken - 2*unseenMean*0.15, p.creepU
	}
	taken, u := off(approach{size: 0.003})
	assert.InDelta(t, 2*0.75*0.003, taken, 1e-9, "gives way: all that the levels hold")
	assert.InDelta(t, 0.25*taken, u, 1e-9)
	taken, u = off(approach{size: 0.008})
	assert.InDelta(t, 2*0.008*(0.75-0.5), taken, 1e-9, "gives way or is squeezed out: the middle")
	assert.InDelta(t, 0.6*2*0.008, u, 1e-4, "twice that covers both ends")
	taken, _ = off(approach{size: 0.03})
	assert.InDelta(t, -2*0.25*0.03, taken, 1e-9, "only a film is so thick: followed to its end")
	taken, u = off(approach{size: 0.01, lag: 1})
	assert.InDelta(t, -1.6*2*0.25*0.01, taken, 1e-9)
	assert.Greater(t, 2*u, 0.008, "a lag is only seen in part")

	p := estimate{mean: 0.15}
	p.contact(approach{})
	assert.InDelta(t, 2*0.15*(0.7*windUpMean+unseenMean), p.taken, 1e-12, "unseen: the usual")
	assert.InDelta(t, 2*0.15*windUpSD, p.creepU, 1e-12)

	late := estimate{mean: 0.15}
	late.contact(approach{size: 0.01, u: 1e-9, tau: 0.2, lag: 1, left: 0.02})
	assert.True(t, late.late)
}

// Where the hands did not quite dwell the top of the motion is the contact.
func TestRoundedTop(t *testing.T) {
	const b = 1
	p := estimate{mean: b}
	p.contact(approach{size: 0.01, u: 1e-9, tau: 0.2, share: 0.5, round: 0.004, roundU: 0.0009})
	assert.InDelta(t, b+1.2*0.004-2*unseenMean, p.mean, 1e-12, "four uncertainties and more: the top alone")
}

// Twenty readings of the arrival of each of four stops, short of it by so much.
func TestWhatIsUnseen(t *testing.T) {
	unseen := func(short float64, n float64, w approach) float64 {
		s := approached(0, 0.15, 0.05)
		for i := range s.turns {
			s.turns[i].quick = slot{n: n, sum: -n * short * float64(2*(i%2)-1)}
		}
		s.split()
		return s.unseen(w, 0.0001, 0.02)
	}
	slow, fast := approach{tau: 0.15}, approach{tau: 0.05, size: 0.004, share: 1}
	assert.InDelta(t, 1.5*math.Exp(1.0/3)*(0.0015+2*0.0001/math.Sqrt(80)), unseen(0.0015, 20, slow), 1e-12)
	assert.Equal(t, UnseenDoubt, unseen(0, 20, slow), "a stop that gives way as quickly as the hand moves")
	assert.Equal(t, UnseenDoubt, unseen(-0.004, 20, slow), "beyond its level it is short of nothing")
	assert.Equal(t, stiffDoubt, unseen(0.01, 20, slow), "no spring gives way by more")
	assert.Equal(t, stiffDoubt, unseen(0, 0.5, slow), "two readings are nothing")
	assert.Equal(t, unseen(0.0015, 20, approach{tau: 0.15}), unseen(0.0015, 20, fast), "what is seen of a quick approach may be the same spring")
	slow.size, slow.share = 0.004, 0.75
	assert.Equal(t, UnseenDoubt, unseen(0.001, 20, slow), "what the slow approach explains is no doubt")
}
