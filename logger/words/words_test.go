package words_test

import (
	"fmt"
	"math"
	"os"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/leak"
	"crownlog/analysis/setup"
	"crownlog/logger/words"
)

func millimetres(v ...float64) string {
	return strings.ReplaceAll(strings.Trim(fmt.Sprintf("%.3f", v), "[]"), " ", " ± ") + " mm"
}

func advised(a setup.Advice) string { return words.Advice(a, millimetres) }

// at is a round of values, evenly spaced.
func at(u float64, v ...float64) (p []analysis.RoundPoint) {
	for i, x := range v {
		p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: 360 * float64(i) / float64(len(v)), Value: x, U: u})
	}
	return p
}

func flatRound(mean, spread float64, spec analysis.RoundSpec) analysis.Round {
	var p []analysis.RoundPoint
	for i := range 8 {
		p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: 45 * float64(i), Value: mean + spread/2*math.Cos(float64(i)*math.Pi/4), U: 0.002})
	}
	return analysis.AnalyseRound(p, 8, spec)
}

func TestAdviceText(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	m := setup.NewAdjusterModel(0.08, 0.02)
	a := m.Advise(flatRound(0.335, 0.02, spec), spec, setup.AdviceOptions{})
	assert.True(t, a.Needed)
	assert.Equal(t, 1.0, a.Steps)
	assert.False(t, a.SignKnown)
	assert.Equal(t, "1 far side OUT 2 · 2 crown-wheel side IN 1 · 3 far side IN 1. Then free the pinion, turn the wheel 4 turns each way and hold the pinion. The mean should become 0.255 ± 0.059 mm. Which way the backlash goes is not known yet: this move shows it.", advised(a))

	for range 3 {
		require.True(t, m.Learn(setup.Move{Steps: 2, Before: 0.335, After: 0.215, BeforeU: 0.001, AfterU: 0.001}))
	}
	_, _, known := m.Gain()
	assert.True(t, known)
	back := m.Advise(flatRound(0.10, 0.01, spec), spec, setup.AdviceOptions{})
	assert.Equal(t, -1.0, back.Steps)
	assert.Contains(t, advised(back), "1 crown-wheel side OUT 2 · 2 far side IN 1 · 3 crown-wheel side IN 1.")
	back.Capped = true
	assert.Equal(t, "Locks off, cap bolts to snug. 1 crown-wheel side OUT 2 · 2 far side IN 1 · 3 crown-wheel side IN 1. Then free the pinion, turn the wheel 4 turns each way, torque the cap bolts again and hold the pinion.", words.Hands(back))
	half := m.Advise(flatRound(0.205, 0.005, spec), spec, setup.AdviceOptions{})
	assert.Equal(t, 0.5, half.Steps)
	assert.Contains(t, advised(half), "1 far side OUT 1.5 · 2 crown-wheel side IN 0.5 · 3 far side IN 1. Half a notch is held by the lock turned over.")
	two := m.Advise(flatRound(0.30, 0.005, spec), spec, setup.AdviceOptions{})
	assert.Contains(t, advised(two), "1 far side OUT 3 · 2 crown-wheel side IN 2 · 3 far side IN 1.")
	assert.NotContains(t, advised(back), "not known yet")

	assert.Equal(t, "Inside the window: leave the adjusters alone.", advised(m.Advise(flatRound(0.175, 0.02, spec), spec, setup.AdviceOptions{})))
	assert.Equal(t, "Nothing measured yet: measure the backlash.", advised(m.Advise(analysis.Round{}, spec, setup.AdviceOptions{})))
	open := analysis.RoundSpec{Limits: gum.Limits{Lower: math.NaN(), Upper: 0.2, Unit: "mm"}}
	assert.Contains(t, advised(m.Advise(flatRound(0.3, 0, open), open, setup.AdviceOptions{})), "needs both ends")
	far := setup.NewAdjusterModel(0.3, 0.01)
	require.True(t, far.Learn(setup.Move{Steps: 1, Before: 0.5, After: 0.2}))
	coarse := far.Advise(flatRound(0.22, 0.01, spec), spec, setup.AdviceOptions{})
	assert.False(t, coarse.Needed)
	assert.NotContains(t, advised(coarse), "Leave it")
	assert.Contains(t, advised(coarse), "outside the window, and half a notch (0.150 mm by the moves so far) would leave it as far off. Fit a lock with finer steps")
	whole := far.Advise(flatRound(0.22, 0.01, spec), spec, setup.AdviceOptions{Whole: true})
	assert.Contains(t, advised(whole), "a notch (0.300 mm by the moves so far) would leave it as far off. Fit a lock with finer steps")
	wide := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.25, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	fine := m.Advise(flatRound(0.24, 0.014, wide), wide, setup.AdviceOptions{AsFound: 0.23})
	assert.Contains(t, advised(fine), "nearer than the next whole notch (0.062 mm). Leave it")
}

func TestShimAdvice(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	a := setup.NewAdjusterModel(0.65, 0.05).Advise(flatRound(0.24, 0.01, spec), spec, setup.AdviceOptions{Shims: true})
	assert.InDelta(t, 0.10, a.Steps, 0.011, "x = change/0.65")
	assert.Contains(t, advised(a), "1 far side -0.1 mm of shim · 2 crown-wheel side +0.1 mm of shim. Then fit the centre again, free the pinion, ")
	boxed := func(sizes ...float64) string {
		box := setup.Box{Sizes: sizes, Near: 2.4, Far: 2.4}
		return advised(setup.NewAdjusterModel(0.65, 0.05).Advise(flatRound(0.24, 0.01, spec), spec, setup.AdviceOptions{Shims: true, Box: box}))
	}
	assert.Equal(t, "1 far side 2.30 mm: 2.30 · 2 crown-wheel side 2.50 mm: 1.80 + 0.70. Then fit the centre again, free the pinion, turn the wheel 4 turns each way and hold the pinion."+
		" The mean should become 0.175 ± 0.037 mm. Which way the backlash goes is not known yet: this move shows it.", boxed(2.3, 1.8, 0.7))
	assert.Contains(t, boxed(2.31, 2.125, 0.375), "2.50 mm: 2.125 + 0.375. Together +0.010 mm: measure the preload too. Then")
	assert.Contains(t, boxed(2.4), "and no stacks from the box move the wheel by the 0.10 mm that takes. Get a shim that does, and add it to shim_sizes_mm in job.toml.")
	a = setup.NewAdjusterModel(0.65, 0.05).Advise(flatRound(0.9, 0.01, spec), spec, setup.AdviceOptions{Shims: true})
	assert.Equal(t, 0.2, a.Steps, "no more than 0.2 mm at once")
}

func TestNoMoveTellsTheAimAndWhatWouldDecide(t *testing.T) {
	m := setup.NewAdjusterModel(0.04, 0.01)
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.15, Upper: 0.20, Unit: "mm"}}
	advice := func(u float64) setup.Advice {
		points := []analysis.RoundPoint{{Position: 1, AngleDeg: 0, Value: 0.17, U: u}, {Position: 2, AngleDeg: 90, Value: 0.19, U: u}, {Position: 3, AngleDeg: 180, Value: 0.20, U: u}, {Position: 4, AngleDeg: 270, Value: 0.18, U: u}}
		return m.Advise(analysis.AnalyseRound(points, 4, spec), spec, setup.AdviceOptions{AsFound: 0.18})
	}
	fine, coarse := advice(0.002), advice(0.006)
	assert.Contains(t, advised(fine), "from the aim (0.180 mm, the mean as found)")
	assert.Contains(t, advised(fine), "More rocks at the outermost positions")
	assert.Contains(t, advised(coarse), "from the aim (0.175 mm)", "the middle, where nothing can be proven")
	assert.Contains(t, advised(coarse), "or a finer gauge, would decide it.")
	assert.InDelta(t, 0.18, fine.Target, 1e-12)
}

// Before the crown wheel comes off, the spread must be too large beyond what
// chance makes of eight readings.
func TestSpreadTooCloseToTell(t *testing.T) {
	spec := analysis.RoundSpec{Limits: gum.Limits{Lower: 0.13, Upper: 0.20, Unit: "mm"}, MaxSpread: math.NaN(), Floor: math.NaN(), Rule: ""}
	round := func(u float64) analysis.Round {
		return analysis.AnalyseRound(at(u, 0.130, 0.201, 0.16, 0.16, 0.16, 0.16, 0.16, 0.16), 8, spec)
	}
	m := setup.NewAdjusterModel(0.08, 0.02)
	close := m.Advise(round(0.0025), spec, setup.AdviceOptions{})
	assert.Contains(t, advised(close), "The spread of 0.071 mm is too close to the 0.070 mm it has: measure positions 1 and 2 again with more rocks before the crown wheel comes off.")
	assert.NotContains(t, advised(close), "cannot fit")
	assert.NotContains(t, advised(m.Advise(round(math.NaN()), spec, setup.AdviceOptions{})), "cannot fit", "nothing is proven without the uncertainty")
	assert.Contains(t, advised(m.Advise(round(0.0002), spec, setup.AdviceOptions{})), "cannot fit in 0.070 mm")
}

func TestPatternWords(t *testing.T) {
	says := func(drive, coast setup.Contact, form string, free bool, what string) {
		t.Helper()
		assert.Contains(t, words.Contact(setup.ContactAdvice(drive, coast, form, free)), what)
	}
	says(setup.Contact{Along: 0, Up: 0.6}, setup.Contact{Along: 0, Up: 0.6}, setup.FormTapered, true, "move the pinion in by")
	says(setup.Contact{Along: 0, Up: -0.6}, setup.Contact{Along: 0, Up: -0.6}, setup.FormTapered, true, "move the pinion out by")
	says(setup.Contact{Along: 0, Up: 0.6}, setup.Contact{Along: 0, Up: 0.6}, setup.FormTapered, false, "both flanks meet at the face")
	says(setup.Contact{Along: 0, Up: -0.6}, setup.Contact{Along: 0, Up: -0.6}, setup.FormTapered, false, "both flanks meet at the root")
	other := "the other way than this tooth form should"
	for _, c := range []struct {
		up, along float64
		form      string
		odd       bool
	}{
		{0.6, 0.6, setup.FormTapered, false}, {0.6, -0.6, setup.FormTapered, true}, {0.6, 0, setup.FormTapered, false},
		{0.6, 0.6, setup.FormUniform, true}, {0.6, -0.6, setup.FormUniform, false}, {-0.6, 0.6, setup.FormTapered, true}, {-0.6, -0.6, setup.FormTapered, false},
	} {
		a := setup.ContactAdvice(setup.Contact{Along: c.along, Up: c.up}, setup.Contact{Along: -c.along, Up: c.up}, c.form, true)
		if c.odd {
			assert.Contains(t, words.Contact(a), other, "%+v", c)
		} else {
			assert.NotContains(t, words.Contact(a), other, "%+v", c)
		}
	}
	says(setup.Contact{Along: -0.6, Up: 0}, setup.Contact{Along: 0.6, Up: 0}, setup.FormUniform, false, "usual for uniform-depth teeth")
	says(setup.Contact{Along: -0.6, Up: 0}, setup.Contact{Along: 0.6, Up: 0}, setup.FormTapered, false, "depth decides, and it is right")
	says(setup.Contact{Along: -0.6, Up: 0}, setup.Contact{Along: 0, Up: 0}, setup.FormUniform, false, "only one flank is off centre")
	says(setup.Contact{Along: 0, Up: 0}, setup.Contact{Along: 0.6, Up: 0}, setup.FormUniform, false, "only one flank is off centre")
	says(setup.Contact{Along: -0.6, Up: 0}, setup.Contact{Along: 0, Up: 0.9}, setup.FormTapered, true, "never move the pinion on one flank")
}

func TestFollowsRunoutInWords(t *testing.T) {
	points := func(phase float64, noise float64) (p []analysis.RoundPoint) {
		for i := range 8 {
			a := 45 * float64(i)
			p = append(p, analysis.RoundPoint{Position: i + 1, AngleDeg: a, Value: 0.17 + 0.02*math.Cos((a-phase)*math.Pi/180) + noise*float64(1-2*(i%2)), U: 0.002})
		}
		return p
	}
	face := analysis.Harmonic{Amplitude: 0.03, PhaseDeg: 10}
	f, err := setup.FollowsRunout(points(10, 0), face, -0.5, 0)
	require.NoError(t, err)
	assert.InDelta(t, 1, f.Explained, 1e-9)
	assert.InDelta(t, 0.04, f.Swing, 1e-9)
	assert.InDelta(t, 0.03, f.Expected, 1e-9)
	assert.Equal(t, "The back face explains 100 % of the backlash's variation (once a turn 0.040 mm, by the face 0.030 mm): the gear's seat makes it, not the teeth, if that indicator counts up when its plunger is pushed in.", words.Following(f, millimetres))
	f, err = setup.FollowsRunout(points(10, 0.03), face, 0.5, 0)
	require.NoError(t, err)
	assert.InDelta(t, 0.0002/(0.0002+0.0009), f.Explained, 1e-9, "squares of the sine's part over all")
	assert.Contains(t, words.Following(f, millimetres), "look at the tooth spacing and the pinion")
	_, err = setup.FollowsRunout(points(10, 0)[:5], face, 0.5, 0)
	assert.NoError(t, err)
}

func TestDoubtsInWords(t *testing.T) {
	columns := func(a float64, b float64) string {
		d, err := setup.CheckColumns(a, "N·m", b, "lbf·ft")
		require.NoError(t, err)
		return words.Doubt(d[0], millimetres)
	}
	assert.Equal(t, "14 N·m is printed beside 103 lbf·ft, which is 139.6492 N·m: a factor of ten apart", columns(14, 103))
	assert.Equal(t, "14 N·m is printed beside 20 lbf·ft, which is 27.1164 N·m", columns(14, 20))
	for want, d := range map[string][]setup.Doubt{
		"980 N·m for M10x1.25 class 10.9 is above the bolt's ceiling of":                       setup.CheckBoltTorque(980, "M10x1.25", "10.9"),
		"a preload of 14 N·m is outside the usual 0.3 to 8 N·m: a factor of ten":               setup.CheckPreload(14),
		"the lower limit 0.2 is not below the upper limit 0.1":                                 setup.CheckWindow(gum.Limits{Lower: 0.2, Upper: 0.1}, 200),
		"a wheel of 200 mm usually has 0.200 mm of backlash at least":                          setup.CheckWindow(gum.Limits{Lower: 0.04, Upper: 0.09}, 200),
		"a wheel of 200 mm usually has 0.180 mm of backlash at most":                           setup.CheckWindow(gum.Limits{Lower: 0.5, Upper: 0.7}, 200),
		"mm if it were printed in inches":                                                      setup.CheckWindow(gum.Limits{Lower: 0.005, Upper: 0.007}, 200),
		"the gauge counts in 0.010 mm, more than a tenth of the window of 0.070 mm":            setup.CheckGauge(gum.Limits{Lower: 0.13, Upper: 0.20}, 0.01, 0, 0),
		"needs u below 0.013 mm":                                                               setup.CheckGauge(gum.Limits{Lower: 0.15, Upper: 0.20}, 0.05, 0, 0),
		"the window is 2.00 standard uncertainties wide: below 3.92":                           {{Of: setup.OfGauge, Kind: setup.DoubtUndecided, Args: []float64{2, 0.01}}},
		"1 N·m for M10x1.25 class 10.9 is very little: ten times it would fit":                 {{Of: setup.OfBolt, Kind: setup.DoubtTen, Args: []float64{1, 80}, Names: []string{"M10x1.25", "10.9"}}},
		"1 N·m for M10x1.25 class 10.9 is very little: is it kgf·m":                            {{Of: setup.OfBolt, Kind: setup.DoubtKgfCm, Args: []float64{1, 80}, Names: []string{"M10x1.25", "10.9"}}},
		"800 N·m for M10x1.25 class 10.9 is above the bolt's ceiling of 80 N·m: a tenth of it": {{Of: setup.OfBolt, Kind: setup.DoubtTen, Args: []float64{800, 80}, Names: []string{"M10x1.25", "10.9"}}},
		"0.300 mm is more backlash than any crown wheel has, usually 0.250 mm at most":         {{Of: setup.OfAnySize, Kind: setup.DoubtWide, Args: []float64{0.3, 0.25}}},
		"a back face at its limit of 0.100 mm swings the backlash by about 0.070 mm":           {{Of: setup.OfFace, Kind: setup.DoubtSwing, Args: []float64{0.1, 0.07, 0.05}}},
		"outside the usual 0.3 to 8 N·m: is it kgf·cm":                                         {{Of: setup.OfPreload, Kind: setup.DoubtKgfCm, Args: []float64{100, 0.3, 8}}},
	} {
		require.NotEmpty(t, d, want)
		assert.Contains(t, words.Doubt(d[0], millimetres), want)
		assert.NotContains(t, words.Doubt(d[0], millimetres), "%!")
	}
}

// Every code that analysis declares has its sentence, and takes the figures that
// its comment lists.
func TestEveryNoteHasItsSentence(t *testing.T) {
	source, err := os.ReadFile("../../analysis/note.go")
	require.NoError(t, err)
	codes := regexp.MustCompile(`(?m)^\t\w+\s+NoteCode = "([^"]+)"`).FindAllStringSubmatch(string(source), -1)
	require.Greater(t, len(codes), 40)
	for _, c := range codes {
		said := words.Note(analysis.NoteCode(c[1]).Of(2, 3))
		assert.NotEmpty(t, strings.TrimSpace(strings.Split(said, "%!(EXTRA")[0]), "no sentence for %q", c[1])
	}
	for want, n := range map[string]analysis.Note{
		"3 partial rock(s) set aside: a stop was not reached":                                                                  analysis.PartialAside.Of(3),
		"the wheel never rested: 0.1234 peak to peak, more or less than the backlash by what a stop gave way or was missed by": analysis.PeakToPeak.Of(0.12341),
		"no temperature: a change of 1 °C would move the pressure by 2.73 kPa":                                                 analysis.NoTemperature.Of(2.73),
		"temperature changed by +0.95 °C; as read the rate was 0.123 kPa/min":                                                  analysis.Warmed.Of(0.951, 0.1234),
		"the reading at 180° stands out by 0.199 mm: turn on for a second turn":                                                analysis.StandsOutOnce.Of(180.2, 0.199),
		"the reading at 45° stands out by 0.150 mm: measure it again":                                                          analysis.StandsOut.Of(45, 0.15),
		"the reading stepped by -0.020 mm at 90°: zero pressed, gauge bumped or base knocked":                                  analysis.ReadingStep.Of(-0.02, 90),
		"1.98 turns of 12.1 s recognised":                                                                                      analysis.TurnsSeen.Of(1.98, 12.1),
		"the torque goes from 1.5 to 2.5 N·m: turn on until it is steady":                                                      analysis.TorqueTrend.Of(1.5, 2.5),
		"1 spike left out": analysis.SpikesAside.Of(1, 0),
		"3 spikes left out; at the same place each turn: burr, paint or bruise": analysis.SpikesAside.Of(3, 2),
		"the drop of 0.5 kPa is no more than the gauge's last digit can tell":   analysis.LastDigit.Of(0.5),
	} {
		assert.Equal(t, want, words.Note(n))
	}
	assert.Equal(t, "no torque in the trace; 2 gaps in the readings", words.Joined([]analysis.Note{analysis.NoTorque.Of(), analysis.ReadingGaps.Of(2)}))
	assert.Empty(t, words.Joined(nil))
}

func ExampleNotes() {
	r := leak.Measure([]leak.Sample{{T: 0, P: 690, TempC: 20}}, leak.Options{})
	fmt.Println(words.Notes(r.Notes))
	// Output: [1 readings are too few]
}

func TestPlaces(t *testing.T) {
	assert.Equal(t, "position", words.Places("position", nil))
	assert.Equal(t, "position 3", words.Places("position", []int{3}))
	assert.Equal(t, "bolts 3 and 5", words.Places("bolt", []int{3, 5}))
	assert.Equal(t, "bolts 3, 5 and 12", words.Places("bolt", []int{3, 5, 12}))
}

func TestMovedWords(t *testing.T) {
	assert.Equal(t, "crown-wheel side in 1, far side out 1", words.Moved(1, -1, false))
	assert.Equal(t, "crown-wheel side out 0.5, far side in 0.5", words.Moved(-0.5, 0.5, false))
	assert.Equal(t, "far side out 1", words.Moved(0, -1, false))
	assert.Equal(t, "crown-wheel side +0.1 mm of shim, far side -0.09 mm of shim", words.Moved(0.1, -0.09, true))
}
