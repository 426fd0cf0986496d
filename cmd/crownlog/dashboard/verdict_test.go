package dashboard

import (
	"crownlog/analysis"
	"crownlog/logger/feature"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/analysis/gum"
	"crownlog/device/frame"
	"crownlog/logger"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

func TestWindowTextShowsBothLimitsAlikeAndNeverWider(t *testing.T) {
	nan := math.NaN()
	for _, tt := range []struct {
		lower, upper float64
		decimals     int
		unit, want   string
	}{
		{0.13, 0.2, 3, "mm", "window 0.13 to 0.20 mm"},
		{0.15, 0.2, 2, "mm", "window 0.15 to 0.20 mm"},
		{nan, 0.05, 3, "mm", "at most 0.05 mm"},
		{1.5, nan, 2, "N·m", "at least 1.5 N·m"},
		{1.016864, 1.581788, 1, "N·m", "window 1.1 to 1.5 N·m"}, // 9 to 14 lbf·in
		{1.016864, 1.581788, 3, "N·m", "window 1.017 to 1.581 N·m"},
		{95, 105, 1, "N·m", "window 95 to 105 N·m"},
		{nan, nan, 3, "mm", ""},
	} {
		v := logger.View{Decimals: tt.decimals, Unit: tt.unit, Window: gum.Limits{Lower: tt.lower, Upper: tt.upper, Unit: tt.unit}}
		assert.Equal(t, tt.want, v.WindowText())
	}
}

func TestStripKeepsEveryFactOnASmallScreen(t *testing.T) {
	v := measuringScene()
	v.Verdict, v.Feature = gum.TooClose, record.FeatureRunoutBackFace
	c := newCanvas(78, 1, false)
	verdictStrip(c, v)
	for _, fact := range []string{"NOT SURE", "mean", "spread", "low", "high"} {
		assert.Contains(t, c.String(), fact)
	}
}

func TestWindowTextSaysWhatTheManualPrints(t *testing.T) {
	v := logger.View{Decimals: 2, Unit: "N·m", Printed: "9 to 14 lbf·in", Window: gum.Limits{Lower: 1.016864, Upper: 1.581788, Unit: "N·m"}}
	assert.Equal(t, "9 to 14 lbf·in = 1.02 to 1.58 N·m", v.WindowText())
	v.Printed, v.Window.Lower = "at most 14 lbf·in", math.NaN()
	assert.Equal(t, "at most 14 lbf·in = 1.58 N·m", v.WindowText())
}

// A gauge that nobody touches shows the same digits too: no more than that is said.
func TestGaugeAtRestIsNotCalledFrozen(t *testing.T) {
	for feature, want := range map[string]bool{record.FeatureWheelBolts: false, record.FeatureRunoutBackFace: true} {
		v := boltsScene()
		v.Feature, v.ReadingFlags = feature, frame.FlagFrozen
		c := newCanvas(46, 12, false)
		reading(c, roundScene{View: v}, 6, 3)
		assert.Equal(t, want, strings.Contains(c.String(), "SAME DIGITS"), feature)
		assert.NotContains(t, c.String(), "FROZEN")
	}
}

// What is stored is not called nothing, and what is typed has no rocks.
func TestWordsOfARoundWithoutReadings(t *testing.T) {
	v := base(record.FeatureWheelBolts)
	assert.Equal(t, [][]string{{"nothing stored yet"}}, roundFacts(v))
	v.Stored = 20
	assert.Equal(t, [][]string{{"20 stored"}}, roundFacts(v))

	v = base(record.FeatureBacklash)
	v.Wanted, v.Keyed, v.Estimate = 1, true, math.NaN()
	around(&v, 4, 0, math.NaN(), math.NaN(), math.NaN(), math.NaN())
	c := newCanvas(80, 24, false)
	paintRound(c, roundScene{View: v})
	assert.NotContains(t, c.String(), "rocks")
	assert.Contains(t, c.String(), "typed values have no trace")
}

func TestTitleMakesRoomForTheWindow(t *testing.T) {
	v := leakScene()
	v.Unit, v.Printed = "kPa/min", "at most 0.5 psi/min"
	v.Window = gum.Limits{Lower: math.NaN(), Upper: 3.447, Unit: "kPa/min"}
	c := newCanvas(46, 12, false)
	reading(c, roundScene{View: v}, 6, 3)
	assert.Contains(t, c.String(), "kPa/min  ")
	assert.Contains(t, c.String(), "at most 0.5 psi/min = 3.4 kPa/min")
}

func TestFailedTrySaysWhyOnItsResult(t *testing.T) {
	v := base(record.FeatureEngagement)
	around(&v, 3, -1, math.NaN(), math.NaN(), math.NaN())
	v.State, v.Verdict, v.Estimate = logger.StateDone, gum.Outside, math.NaN()
	v.Reason = "cycle 1 did not lock"
	assert.Contains(t, figures(v), []string{"cycle 1 did not lock"})
}

// A verdict that is not sure shows the figure that leaves it open, in words that
// are no idiom.
func TestNotSureShowsTheFigureThatDecides(t *testing.T) {
	v := insideScene()
	v.Positions = nil
	around(&v, 8, -1, 0.152, 0.161, 0.178, 0.163, 0.159, 0.158, 0.157, 0.131)
	v.State, v.Verdict = logger.StateDone, gum.TooClose
	c := newCanvas(80, 24, false)
	paintRound(c, roundScene{View: v})
	assert.Contains(t, c.String(), "0.1310 ±0.0030 at position 8: limit 0.13")
	assert.NotContains(t, c.String(), "every position")
	word := newCanvas(47, 3, true)
	verdictWord(word, v)
	assert.Contains(t, word.String(), "NOT SURE")

	v = insideScene()
	c = newCanvas(80, 24, false)
	paintRound(c, roundScene{View: v})
	assert.Contains(t, c.String(), "every position is inside the limits")
	v.Positions[2].Verdict = gum.TooClose // which a rule for the whole may allow
	c = newCanvas(80, 24, false)
	paintRound(c, roundScene{View: v})
	assert.NotContains(t, c.String(), "every position")
}

// A place that is not sure says what would decide it, from when it is stored.
func TestNotSureSaysWhatWouldDecide(t *testing.T) {
	var cs []record.Capture
	for i := range 8 {
		c := record.Blank(record.StageFinal, record.FeatureBacklash, sceneTime)
		c.ID, c.Position, c.Value, c.U, c.N = i+1, i+1, 0.165, 0.001, 3
		cs = append(cs, sheet.Example().AsMeasured(c))
	}
	cs[2].Value, cs[2].U, cs[2].OwnU, cs[2].HandU, cs[2].Quality = 0.138, 0.005, 0.0048, 0.0005, record.QualityOK
	const want = "Position 3 may be decided by 5 rocks: measure it again."
	shown := func(measured int) string {
		v := base(record.FeatureBacklash)
		v.Assessment = feature.AssessRound(sheet.Example(), cs[:measured], cs, record.StageFinal, record.FeatureBacklash)
		around(&v, 8, measured%8)
		if measured == 8 {
			v.State, v.Current = logger.StateDone, -1
		}
		c := newCanvas(80, 24, false)
		newPanel(Source{Latest: func() logger.View { return v }}, nil).paint(c)
		return strings.Join(strings.Fields(c.String()), " ")
	}
	assert.NotContains(t, shown(2), want)
	assert.Contains(t, shown(3), want)
	assert.Contains(t, shown(8), "Position 3 may be decided by 5 rocks:")
}

// A value that is being typed is as large as one that is read.
func TestTypedValueIsLarge(t *testing.T) {
	v := base(record.FeatureBacklash)
	around(&v, 8, 0)
	v.Keyed = true
	large := func(text string) string {
		c := newCanvas(47, 10, false)
		reading(c, roundScene{View: v, typed: text}, 7, 1)
		return c.String()
	}
	assert.Contains(t, large("0.16"), "typed, mm")
	assert.Equal(t, large("0.16"), large("0,16"))
	assert.NotEqual(t, large("0.16"), large("0.18"))
	assert.NotEqual(t, large("7 thou"), large("6 thou"))
}

// Nothing that a fitter has to read is cut on the smallest full screen: what each
// feature warns of, and the longest sentences.
func TestNothingIsCutAtEightyByTwentyFour(t *testing.T) {
	longest := "Cycle 3. The air on: y if it locked, l if it did not. Then the air off: y if it freed, f if it did not. Type the seconds if you timed it, such as 0.6 s."
	for _, name := range record.Features() {
		v := base(name)
		around(&v, 8, 0)
		v.Action, v.Caution = longest, feature.Caution(name)
		shown := func() string {
			c := newCanvas(80, 24, false)
			paintRound(c, roundScene{View: v})
			return strings.Join(strings.Fields(c.String()), " ")
		}
		assert.Contains(t, shown(), longest, name)
		assert.Contains(t, shown(), cautionText(v.Caution), name)
		v.Alert, v.Fault = longest+" "+words.Fault(analysis.UnitFlip), analysis.UnitFlip
		assert.Contains(t, shown(), "PROBLEM: "+v.Alert, name)
		v.Alert, v.Bell = "", 1
		assert.Contains(t, shown(), longest, name)
		if v.Caution != "" {
			assert.NotContains(t, shown(), "CAUTION", "once, not at each place")
		}
	}
	v := runoutScene()
	v.Positions = nil
	around(&v, 32, -1)
	v.State = logger.StateDone
	c := newCanvas(80, 24, false)
	paintRound(c, roundScene{View: v})
	assert.Contains(t, c.String(), "all done")
}

// The port that was found by itself is named, as long as nothing came from it.
func TestPortThatWasFoundIsNamed(t *testing.T) {
	s := roundScene{View: waitingScene(), from: "/dev/ttyUSB0"}
	c := newCanvas(80, 24, false)
	paintRound(c, s)
	assert.Contains(t, c.String(), "waiting for ttyUSB0, mm")
	s.View = measuringScene()
	c = newCanvas(80, 24, false)
	paintRound(c, s)
	assert.NotContains(t, c.String(), "ttyUSB0")
}
