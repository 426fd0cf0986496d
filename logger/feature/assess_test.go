package feature

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

var nan = math.NaN()

// A journal of the example's job, written by hand.
type journal []record.Capture

// add writes one capture.
func (j *journal) add(name string, position int, value, u float64, change ...func(c *record.Capture)) {
	c := record.Blank(record.StageFinal, name, testTime)
	c.ID, c.Position, c.Value, c.U, c.Unit = len(*j)+1, position, value, u, record.FeatureOf(name).Unit
	if position > 0 {
		c.AngleDeg = 45 * float64(position-1)
	}
	if name == record.FeatureBacklash {
		c = sheet.Example().AsMeasured(c)
	}
	for _, ch := range change {
		ch(&c)
	}
	*j = append(*j, c)
}

// round is a feature at its positions in order.
func round(name string, u float64, values ...float64) (j journal) {
	for i, v := range values {
		j.add(name, i+1, v, u)
	}
	return j
}

// pull is one pull of a bolt.
func (j *journal) pull(bolt, pass, of int, value, u float64) {
	j.add(record.FeatureCapBolts, bolt, value, u, func(c *record.Capture) { c.Pass = record.Pass{N: pass, Of: of} })
}

// try is one try of the lock.
func (j *journal) try(cycle int, seconds float64, quality string) {
	j.add(record.FeatureEngagement, cycle, seconds, 0.1, func(c *record.Capture) { c.Quality = quality })
}

func backlashWindow(change func(w *sheet.Window)) func(s *sheet.Sheet) {
	return func(s *sheet.Sheet) { change(&s.Windows[0]) }
}

// TestAssess: what a job says of a feature. The windows are the example's:
// backlash 0.13 to 0.20 mm with a spread of 0.08, back face up to 0.08 mm, caps
// 85 N·m within a tenth, leak up to 3 kPa/min. A value proves itself inside from
// 1.65 u within a limit, and outside from 1.65 u beyond it.
func TestAssess(t *testing.T) {
	const backlash, face, caps, leak, try = record.FeatureBacklash, record.FeatureRunoutBackFace, record.FeatureCapBolts, record.FeatureLeakDown, record.FeatureEngagement
	ten := []int{1, 2, 3, 4, 5, 6, 7, 8, 9, 10}
	tests := []struct {
		name, feature string
		cs            journal
		change        func(s *sheet.Sheet)
		verdict       gum.Verdict
		reason        string
		value, u      float64
		measured      int
		missing       []int
	}{
		{name: "nothing", feature: backlash, reason: "nothing measured yet", value: nan, u: nan, missing: ten[:8]},
		{name: "three", feature: backlash, cs: round(backlash, 0.004, 0.150, 0.160, 0.170),
			reason: "not measured: positions 4, 5, 6, 7 and 8", value: 0.160, u: 0.004, measured: 3, missing: ten[3:8]},
		{name: "one, beyond", feature: backlash, cs: round(backlash, 0.004, 0.210), verdict: gum.Outside,
			reason: "position 1: outside; not measured: positions 2, 3, 4, 5, 6, 7 and 8", value: 0.210, u: 0.004, measured: 1, missing: ten[1:8]},
		{name: "all inside", feature: backlash, cs: append(round(backlash, 0.002, 0.150, 0.150, 0.150, 0.150, 0.170, 0.170, 0.170), func() journal {
			var j journal
			j.add(backlash, 8, 0.170, 0.010)
			return j
		}()...), verdict: gum.Inside, reason: "all conditions met", value: 0.160, u: 0.003, measured: 8},
		{name: "too close", feature: backlash, cs: round(backlash, 0.004, 0.16, 0.16, 0.195, 0.16, 0.16, 0.136, 0.16, 0.16), verdict: gum.TooClose,
			reason: "positions 3 and 6: too close to call", value: 0.16 + 0.011/8, u: 0.004, measured: 8},
		{name: "one outside", feature: backlash, cs: round(backlash, 0.004, 0.16, 0.16, 0.208, 0.195, 0.16, 0.16, 0.16, 0.16), verdict: gum.Outside,
			reason: "position 3: outside", value: 0.16 + 0.083/8, u: 0.004, measured: 8},
		{name: "spread", feature: backlash, cs: round(backlash, 0.001, 0.140, 0.19, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16), verdict: gum.Outside,
			change: backlashWindow(func(w *sheet.Window) { *w.MaxSpread = 0.03 }), reason: "spread 0.05 against 0.03: outside", value: 0.16 + 0.01/8, u: 0.001, measured: 8},
		{name: "floor", feature: backlash, cs: round(backlash, 0.001, 0.120, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16), verdict: gum.Outside,
			change: backlashWindow(func(w *sheet.Window) { w.Floor, w.Lower = new(0.125), nil }), reason: "position 1 against the floor 0.125: outside", value: 0.155, u: 0.001, measured: 8},
		{name: "uncertainty unknown", feature: backlash, cs: round(backlash, nan, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16),
			reason: "as read inside, uncertainty unknown", value: 0.16, u: nan, measured: 8},
		{name: "uncertainty unknown, as read outside", feature: backlash, cs: round(backlash, nan, 0.16, 0.21, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16),
			reason: "position 2: as read outside, uncertainty unknown", value: 0.16 + 0.05/8, u: nan, measured: 8},
		{name: "tightest inside", feature: backlash, cs: round(backlash, 0.002, 0.150, 0.200, 0.210, 0.205), verdict: gum.Inside,
			change: fourOf(analysis.RuleTightestInside), reason: "all conditions met by the rule tightest-inside: tightest position 1 inside; beyond the window: positions 3 and 4",
			value: 0.19125, u: 0.002, measured: 4},
		{name: "tightest inside, and all", feature: backlash, cs: round(backlash, 0.002, 0.150, 0.190, 0.180, 0.170), verdict: gum.Inside,
			change: fourOf(analysis.RuleTightestInside), reason: "all conditions met by the rule tightest-inside: tightest position 1 inside", value: 0.1725, u: 0.002, measured: 4},
		{name: "tightest too close", feature: backlash, cs: round(backlash, 0.002, 0.190, 0.132, 0.180, 0.170), verdict: gum.TooClose,
			change: fourOf(analysis.RuleTightestInside), reason: "tightest position 2 at 0.132: too close to call", value: 0.168, u: 0.002, measured: 4},
		{name: "any inside", feature: backlash, cs: round(backlash, 0.002, 0.100, 0.150, 0.100, 0.100), verdict: gum.Inside,
			change: fourOf(analysis.RuleAnyInside), reason: "all conditions met by the rule any-inside: position 2 inside; beyond the window: positions 1, 3 and 4", value: 0.1125, u: 0.002, measured: 4},
		{name: "any too close", feature: backlash, cs: round(backlash, 0.002, 0.100, 0.132, 0.100, 0.100), verdict: gum.TooClose,
			change: fourOf(analysis.RuleAnyInside), reason: "position 2 at 0.132: too close to call", value: 0.108, u: 0.002, measured: 4},
		{name: "none inside", feature: backlash, cs: round(backlash, 0.002, 0.100, 0.100, 0.100, 0.100), verdict: gum.Outside,
			change: fourOf(analysis.RuleAnyInside), reason: "no position inside: outside", value: 0.100, u: 0.002, measured: 4},
		{name: "no window", feature: backlash, cs: round(backlash, 0.004, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16),
			change: func(s *sheet.Sheet) { s.Windows = nil }, reason: "no window to judge by", value: 0.16, u: 0.004, measured: 8},
		{name: "no window, not all", feature: backlash, cs: round(backlash, 0.004, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16),
			change: func(s *sheet.Sheet) { s.Windows = nil }, reason: "no window to judge by; not measured: position 8", value: 0.16, u: 0.004, measured: 7, missing: []int{8}},
		{name: "measured again", feature: backlash, cs: append(round(backlash, 0.004, 0.30, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16), func() journal {
			var j journal
			j.add(backlash, 1, 0.16, 0.004, func(c *record.Capture) { c.ID, c.Supersedes = 9, 1 })
			return j
		}()...), verdict: gum.Inside, reason: "all conditions met", value: 0.16, u: 0.004, measured: 8},
		{name: "moved since", feature: backlash, cs: append(round(backlash, 0.004, 0.16, 0.16), record.Capture{ID: 3, Stage: record.StageSetUp, Feature: record.FeatureMove, Value: 1}),
			reason: "not measured since the adjusters were moved", value: nan, u: nan, missing: ten[:8]},
		{name: "read in another way", feature: backlash, cs: round(backlash, 0.004, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16),
			change: func(s *sheet.Sheet) { s.Plunger.Measured, s.GearSet.PressureAngleDeg = "transverse", 0 },
			reason: "measured normal at 106 mm, where job.toml now says transverse at 106 mm: cannot be converted", value: 0.16, u: 0.004, measured: 8},
		// Transverse means 0.131 to 0.202 read square to it by cos 20 cos 33, which is 0.788.
		{name: "convention decides", feature: backlash, cs: round(backlash, 0.002, 0.19, 0.19, 0.19, 0.19, 0.19, 0.19, 0.19, 0.19), verdict: gum.TooClose,
			change: func(s *sheet.Sheet) { s.Plunger.Spec = "unknown" },
			reason: "normal or transverse backlash decides it, and which one the manual means or the plunger read is not known", value: 0.19, u: 0.002, measured: 8},

		{name: "first pass", feature: caps, cs: onePass(1, 42, 42, 42, 42), reason: "not measured: bolts 1, 2, 3 and 4", value: nan, u: nan, measured: 4, missing: ten[:4]},
		{name: "both passes", feature: caps, cs: append(onePass(1, 42, 42, 42, 42), onePass(2, 84, 85, 86, 87)...), verdict: gum.Inside, reason: "all conditions met", value: nan, u: 0.4, measured: 8},
		{name: "over-torqued before all", feature: caps, cs: append(onePass(1, 42, 42, 42, 42), onePass(2, 95)...), verdict: gum.Outside,
			reason: "bolt 1: outside; not measured: bolts 2, 3 and 4", value: nan, u: 0.1, measured: 5, missing: ten[1:4]},
		{name: "inside before all", feature: caps, cs: append(onePass(1, 42, 42, 42, 42), onePass(2, 85, 85, 85)...),
			reason: "not measured: bolt 4", value: nan, u: 0.3, measured: 7, missing: ten[3:4]},
		{name: "last pass alone", feature: caps, cs: onePass(2, 85, 85, 85, 85), reason: "not measured: bolts 1, 2, 3 and 4", value: nan, u: 0.4, measured: 4, missing: ten[:4]},
		{name: "one pull too many", feature: caps, cs: append(append(onePass(1, 42, 42, 42, 42), onePass(1, 42)...), onePass(2, 85, 85, 85, 85)...), verdict: gum.Inside,
			reason: "all conditions met", value: nan, u: 0.4, measured: 8},

		{name: "no places", feature: face, reason: "not measured: positions 1, 2, 3, 4, 5, 6, 7 and 8", value: nan, u: nan, missing: ten[:8]},
		{name: "two places", feature: face, cs: round(face, 0.002, 0, 0.3), reason: "not measured: positions 3, 4, 5, 6, 7 and 8", value: nan, u: nan, measured: 2, missing: ten[2:8]},
		{name: "one place", feature: face, cs: round(face, 0.002, 0), reason: "not measured: positions 2, 3, 4, 5, 6, 7 and 8", value: nan, u: nan, measured: 1, missing: ten[1:8]},
		{name: "seven places", feature: face, cs: round(face, 0.002, 0, 0.01, 0.02, 0.03, 0.02, 0.01, 0), reason: "not measured: position 8", value: 0.035313708498984756, u: -1, measured: 7, missing: ten[7:8]},
		{name: "seven places beyond", feature: face, cs: round(face, 0.002, 0, 0.029, 0.100, 0.171, 0.200, 0.171, 0.100), verdict: gum.Outside,
			reason: "full indicator movement 0.200 mm; not measured: position 8", value: 0.20032733034279182, u: -1, measured: 7, missing: ten[7:8]},
		{name: "eight places", feature: face, cs: round(face, 0.002, 0, 0.01, 0.02, 0.03, 0.04, 0.03, 0.02, 0.01), verdict: gum.Inside,
			reason: "full indicator movement 0.040 mm", value: 0.04, u: -1, measured: 8},
		{name: "eight places without a window", feature: face, cs: round(face, 0.002, 0, 0.01, 0.02, 0.03, 0.04, 0.03, 0.02, 0.01),
			change: func(s *sheet.Sheet) { s.Windows = nil }, reason: "no window to judge by", value: 0.04, u: -1, measured: 8},
		{name: "a place stands out", feature: face, cs: round(face, 0.002, 0, 0.004, 0.006, 0.002, 0.001, 0.003, 0.005, 0.150),
			reason: "full indicator movement 0.150 mm as read; measure position 8 again", value: 0.15, u: -1, measured: 8},
		{name: "a turn", feature: face, cs: turnOf(0.05, 0.002), verdict: gum.Inside, reason: "full indicator movement 0.050 mm", value: 0.05, u: 0.002, measured: 8},
		{name: "a turn beyond", feature: face, cs: turnOf(0.09, 0.002), verdict: gum.Outside, reason: "full indicator movement 0.090 mm", value: 0.09, u: 0.002, measured: 8},
		{name: "a turn too close", feature: face, cs: turnOf(0.079, 0.002), verdict: gum.TooClose, reason: "full indicator movement 0.079 mm", value: 0.079, u: 0.002, measured: 8},
		{name: "a turn of unknown uncertainty", feature: face, cs: turnOf(0.05, nan), reason: "full indicator movement 0.050 mm as read inside, uncertainty unknown", value: 0.05, u: nan, measured: 8},
		{name: "a turn without a window", feature: face, cs: turnOf(0.05, 0.002), change: func(s *sheet.Sheet) { s.Windows = nil }, reason: "no window to judge by", value: 0.05, u: 0.002, measured: 8},

		{name: "leak inside", feature: leak, cs: whole(leak, 1.4, 0.1), verdict: gum.Inside, reason: "all conditions met", value: 1.4, u: 0.1, measured: 1},
		{name: "leak beyond", feature: leak, cs: whole(leak, 3.2, 0.1), verdict: gum.Outside, reason: "position 1: outside", value: 3.2, u: 0.1, measured: 1},
		{name: "leak too close", feature: leak, cs: whole(leak, 3.1, 0.1), verdict: gum.TooClose, reason: "position 1: too close to call", value: 3.1, u: 0.1, measured: 1},

		{name: "tries so far", feature: try, cs: tried(0.6, 0.5), reason: "locked and freed 2 times of 10 so far; not measured: cycles 3, 4, 5, 6, 7, 8, 9 and 10", value: 0.6, u: 0.1, measured: 2, missing: ten[2:]},
		{name: "tries", feature: try, cs: tried(0.6, 0.5, nan, nan, nan, nan, nan, nan, nan, nan), reason: "locked and freed 10 times of 10", value: 0.6, u: 0.1, measured: 10},
		{name: "a try failed", feature: try, cs: append(tried(0.6), failed(2, qualityNoFree)...), verdict: gum.Outside,
			reason: "cycle 2 did not free; not measured: cycles 3, 4, 5, 6, 7, 8, 9 and 10", value: 0.6, u: 0.1, measured: 2, missing: ten[2:]},
		{name: "the first that failed", feature: try, cs: append(failed(1, qualityNoLock), failed(2, qualityNoFree)...), verdict: gum.Outside,
			reason: "cycle 1 did not lock; not measured: cycles 3, 4, 5, 6, 7, 8, 9 and 10", value: nan, u: nan, measured: 2, missing: ten[2:]},
		{name: "tries within a second", feature: try, cs: tried(0.6, 0.5), change: twoTries, verdict: gum.Inside, reason: "all conditions met", value: 0.6, u: 0.1, measured: 2},
		{name: "a slow try", feature: try, cs: tried(0.6, 1.3), change: twoTries, verdict: gum.Outside, reason: "cycle 2: outside", value: 1.3, u: 0.1, measured: 2},
		{name: "a try not timed", feature: try, cs: tried(0.6, nan), change: twoTries, reason: "the window is a time, and not every try was timed", value: 0.6, u: 0.1, measured: 2},

		{name: "half a pattern", feature: record.FeaturePatternDrive, cs: round(record.FeaturePatternDrive, nan, 0), reason: "not measured: position 2", value: nan, u: nan, measured: 1, missing: []int{2}},
		{name: "one flank", feature: record.FeaturePatternDrive, cs: round(record.FeaturePatternDrive, nan, 0, 0), reason: "the other flank is not entered", value: nan, u: nan, measured: 2},
		{name: "unknown", feature: "colour", cs: whole("colour", 1, 0.1), reason: "no window to judge by", value: 1, u: 0.1, measured: 1},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := sheet.Example()
			if tt.change != nil {
				tt.change(&s)
			}
			a := Assess(s, tt.cs, record.StageFinal, tt.feature)
			assert.Equal(t, tt.verdict, a.Verdict)
			assert.Equal(t, tt.reason, a.Reason())
			assert.Equal(t, tt.measured, a.Measured)
			assert.Equal(t, tt.missing, a.Missing)
			assert.Equal(t, len(tt.missing) == 0, a.Complete)
			assertNumber(t, tt.value, a.Value)
			if tt.u >= 0 || math.IsNaN(tt.u) { // that of a movement is analysis's own
				assertNumber(t, tt.u, a.U)
			}
		})
	}
}

func assertNumber(t *testing.T, want, got float64) {
	t.Helper()
	if math.IsNaN(want) {
		assert.True(t, math.IsNaN(got), "got %v", got)
		return
	}
	assert.InDelta(t, want, got, 1e-9)
}

func fourOf(rule string) func(s *sheet.Sheet) {
	return func(s *sheet.Sheet) { s.Positions, s.Windows[0].MaxSpread, s.Windows[0].Rule = 4, nil, rule }
}

// onePass is the pulls of one pass of two of the cap bolts in order; their uncertainty
// grows by 0.1 N·m from one to the next.
func onePass(pass int, values ...float64) (j journal) {
	for i, v := range values {
		j.pull(i+1, pass, 2, v, 0.1*float64(i+1))
	}
	return j
}

func turnOf(value, u float64) (j journal) {
	j.add(record.FeatureRunoutBackFace, 0, value, u, func(c *record.Capture) { c.N = 2 })
	return j
}

func whole(name string, value, u float64) (j journal) {
	j.add(name, 0, value, u)
	j[0].High = 690 // the pressure of an air test
	return j
}

// tried are tries that locked and freed; NaN: not timed.
func tried(seconds ...float64) (j journal) {
	for i, s := range seconds {
		j.try(i+1, s, record.QualityKeyed)
	}
	return j
}

func failed(cycle int, quality string) (j journal) {
	j.try(cycle, nan, quality)
	return j
}

func twoTries(s *sheet.Sheet) {
	s.Engagement.Cycles = 2
	s.Windows = []sheet.Window{{Feature: record.FeatureEngagement, Unit: "s", Upper: new(1.0), Rule: analysis.RuleAllInside}}
}

func TestAssessBothFlanks(t *testing.T) {
	flanks := func(drive, coast [2]float64) journal {
		return append(round(record.FeaturePatternDrive, nan, drive[0], drive[1]), round(record.FeaturePatternCoast, nan, coast[0], coast[1])...)
	}
	for name, tt := range map[string]struct {
		cs     journal
		want   gum.Verdict
		reason string
	}{
		"central":                      {flanks([2]float64{0.1, 0.05}, [2]float64{-0.05, 0}), gum.Inside, ""},
		"face on drive, root on coast": {flanks([2]float64{-0.6, 0.9}, [2]float64{0.6, -0.9}), gum.Outside, ""},
		"towards the toe on both":      {flanks([2]float64{-0.7, 0}, [2]float64{-0.7, 0}), gum.NotDecided, ""},
	} {
		t.Run(name, func(t *testing.T) {
			advice, both := ContactAdvice(sheet.Example(), tt.cs, record.StageFinal)
			require.True(t, both)
			for _, flank := range []string{record.FeaturePatternDrive, record.FeaturePatternCoast} {
				a := Assess(sheet.Example(), tt.cs, record.StageFinal, flank)
				assert.Equal(t, tt.want, a.Verdict, flank)
				assert.Equal(t, words.Contact(advice), a.Reason(), flank)
				assert.True(t, a.Complete, flank)
			}
		})
	}
}

// TestResults: one a position in their order, with what each proves by itself.
func TestResults(t *testing.T) {
	var j journal
	for _, p := range []int{3, 1, 2, 1} {
		j.add(record.FeatureBacklash, p, 0.1+0.03*float64(p), 0.002)
	}
	j[3].Value, j[3].Supersedes = 0.5, 2
	a := Assess(sheet.Example(), j, record.StageFinal, record.FeatureBacklash)
	require.Len(t, a.Results, 3)
	for i, want := range []struct {
		value   float64
		verdict gum.Verdict
	}{{0.5, gum.Outside}, {0.16, gum.Inside}, {0.19, gum.Inside}} {
		assert.Equal(t, i+1, a.Results[i].Capture.Position)
		assert.InDelta(t, want.value, a.Results[i].Capture.Value, 1e-12)
		assert.Equal(t, want.verdict, a.Results[i].Verdict)
	}
	assert.False(t, a.Unconvertible())

	face := Assess(sheet.Example(), round(record.FeatureRunoutBackFace, 0.002, 0.1, 0.2, 0.3), record.StageFinal, record.FeatureRunoutBackFace)
	for _, r := range face.Results {
		assert.Equal(t, gum.NotDecided, r.Verdict, "a point proves nothing by itself")
	}
	tries := Assess(sheet.Example(), append(tried(0.5), failed(2, qualityNoLock)...), record.StageFinal, record.FeatureEngagement)
	require.Len(t, tries.Results, 2)
	assert.Equal(t, "yes", TryWord(tries.Results[0].Capture))
	assert.Equal(t, "no", TryWord(tries.Results[1].Capture))
	assert.Equal(t, []int{2}, tries.Round.Outside)
	slow := sheet.Example()
	twoTries(&slow)
	assert.Empty(t, Assess(slow, tried(0.6, 1.3), record.StageFinal, record.FeatureEngagement).Round.Outside, "of tries those that failed")
}

// TestPoints: the latest valid value of each position.
func TestPoints(t *testing.T) {
	j := round(record.FeatureBacklash, 0.002, 0.16, 0.17)
	j.add(record.FeatureBacklash, 1, 0.15, 0.003)
	j.add(record.FeatureBacklash, 2, nan, 0.003)
	j.add(record.FeatureBacklash, 0, 0.3, 0.003)
	assert.Equal(t, []analysis.RoundPoint{
		{Position: 1, AngleDeg: 0, Value: 0.15, U: 0.003}, {Position: 2, AngleDeg: 45, Value: 0.17, U: 0.002},
	}, Points(sheet.Example(), j, record.StageFinal, record.FeatureBacklash))
	assert.Empty(t, Points(sheet.Example(), j, record.StageSetUp, record.FeatureBacklash))
}
