package logger

import (
	"bytes"
	"encoding/csv"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/export"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// tilted is the example with a plunger that needs every correction.
func tilted() sheet.Sheet {
	s := sheet.Example()
	s.Plunger.CosineDeg, s.Plunger.ContactRadius, s.Plunger.HeelRadius = 20, 70, 95
	return s
}

func TestKeyedBacklashIsCorrectedAsAMeasuredOne(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Sheet: tilted(), Stage: record.StageAsFound, Feature: record.FeatureBacklash, Keyed: true, Resolution: 0.01})
	p.key(0.150)
	c := p.store.captures[0]
	assert.InDelta(t, 0.150*0.9396926*95/70, c.Value, 1e-5) // cos 20°, from any table
	assert.Equal(t, setup.Normal, c.Convention)
	assert.InDelta(t, 95, c.RadiusMM, 1e-12)
	assert.Equal(t, "reading times 1.275, plunger tilted 20°, from radius 70 to 95 mm", c.Note)
	assert.InDelta(t, c.Value, p.View().Positions[0].Value, 1e-12)

	k := 0.9396926 * 95 / 70
	reading := 0.00443 * k                                     // two half counts of 0.01, 0.003 permissible error
	angle := c.Value * 0.3639702 * (2 * math.Pi / 180) / sqrt3 // tan 20°, 2° by eye
	normal := math.Sqrt(reading*reading + angle*angle + math.Pow(c.Value*0.01/sqrt3, 2))
	assert.InDelta(t, gum.Convolved(normal, 0.0092*k)/gum.HalfWidthFactor, c.U, 2e-5, "with 4.6 µm of wind-up at either stop")
	assert.InDelta(t, k*0.01/math.Sqrt(6), c.OwnU, 1e-6, "two half counts")
	assert.InDelta(t, k*0.0092/sqrt3, c.HandU, 1e-6)
}

const sqrt3 = 1.7320508

// TestBacklashOfUnknownDirectionIsJudgedBothWays: 0.165 is inside 0.13 to 0.20,
// and outside what that window is for a plunger square to the tooth (0.102 to
// 0.158) if the manual means transverse backlash; 0.145 is inside either.
func TestBacklashOfUnknownDirectionIsJudgedBothWays(t *testing.T) {
	s := sheet.Example()
	s.Plunger.Spec = "unknown"
	round := func(v float64) *played {
		p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageSetUp, Feature: record.FeatureBacklash, Keyed: true, Override: "only a test"})
		for !p.Done() {
			p.key(v)
		}
		return p
	}
	p := round(0.165)
	assert.Equal(t, gum.TooClose, p.View().Verdict)
	assert.Equal(t, feature.ReasonWords(gum.OneConventionOnly), p.View().Reason)
	assert.Equal(t, gum.TooClose, p.View().Positions[0].Verdict)
	assert.Equal(t, gum.TooClose, feature.Assess(s, p.store.captures, record.StageSetUp, record.FeatureBacklash).Verdict)
	var record strings.Builder
	require.NoError(t, export.WriteRecordCSV(&record, s, p.store.captures))
	assert.Contains(t, record.String(), ",too close to call,")
	assert.NotContains(t, record.String(), ",inside,")
	assert.Contains(t, record.String(), "normal or transverse backlash decides it")
	_, err := job.AdviseMove(s, p.store.captures)
	assert.ErrorContains(t, err, "normal or transverse backlash decides it")
	assert.Equal(t, gum.Inside, round(0.145).View().Verdict)
}

// turned is the example with the plunger set in the plane of rotation.
func turned() sheet.Sheet {
	s := sheet.Example()
	s.GearSet.PressureAngleDeg, s.GearSet.SpiralAngleDeg = 20, 35
	s.Plunger.Measured = setup.Transverse
	return s
}

// TestEditingTheSheetDoesNotChangeOldCaptures: 0.150 normal is 0.195 transverse
// (cos 20° · cos 35° = 0.769751), whatever the sheet says later.
func TestEditingTheSheetDoesNotChangeOldCaptures(t *testing.T) {
	store := &memoryStore{}
	before, after := sheet.Example(), turned()
	fill(t, store, record.StageAsFound, record.FeatureBacklash, steady(0.150))
	first := feature.Assess(before, store.captures, record.StageAsFound, record.FeatureBacklash)
	again := feature.Assess(after, store.captures, record.StageAsFound, record.FeatureBacklash)
	assert.InDelta(t, 0.150/0.769751, again.Round.Mean, 1e-5)
	assert.Equal(t, first.Verdict, again.Verdict, "the window is converted with it")

	p := play(t, store, RoundConfig{Sheet: after, Stage: record.StageSetUp, Feature: record.FeatureBacklash, Keyed: true})
	for range 8 {
		p.key(0.195)
	}
	was, is := feature.Points(after, store.captures, record.StageAsFound, record.FeatureBacklash), feature.Points(after, store.captures, record.StageSetUp, record.FeatureBacklash)
	assert.False(t, analysis.CompareStages(was, is, analysis.Same{}).Significant)

	after.GearSet.SpiralAngleDeg = 0 // nothing left to convert by
	after.GearSet.PressureAngleDeg = 0
	round := feature.Assess(after, store.captures, record.StageAsFound, record.FeatureBacklash)
	assert.Equal(t, gum.NotDecided, round.Verdict)
	assert.Equal(t, "measured normal at 106 mm, where job.toml now says transverse at 106 mm: cannot be converted", round.Reason())
	assert.InDelta(t, 0.150, round.Round.Mean, 1e-9)
	found, err := job.AdviseMove(after, store.captures[:8])
	require.ErrorContains(t, err, "cannot be converted", "%v", found)
}

func TestEditingTheRadiusConverts(t *testing.T) {
	store := &memoryStore{}
	s := sheet.Example()
	s.Plunger.ContactRadius, s.Plunger.HeelRadius = 80, 0
	p := play(t, store, RoundConfig{Sheet: s, Stage: record.StageAsFound, Feature: record.FeatureBacklash, Keyed: true})
	p.key(0.150)
	assert.InDelta(t, 80, store.captures[0].RadiusMM, 1e-12)
	assert.Empty(t, store.captures[0].Note)
	s.Plunger.HeelRadius = 100
	points := feature.Points(s, store.captures, record.StageAsFound, record.FeatureBacklash)
	assert.InDelta(t, 0.150*100/80, points[0].Value, 1e-9)
	s.Plunger.ContactRadius, s.Plunger.HeelRadius = 0, 0
	assert.Contains(t, s.Unconvertible(store.captures), "job.toml now says normal at an unknown radius")

	var b bytes.Buffer
	require.NoError(t, export.WriteRecordCSV(&b, s, store.captures))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, gum.NotDecided.String(), rows[1][11])
	assert.Contains(t, rows[1][16], "cannot be converted")
}

// TestRoundGoesOnInTheConventionOfTheSheet: after an edit in the middle of a round
// the positions before it are converted, or measured again.
func TestRoundGoesOnInTheConventionOfTheSheet(t *testing.T) {
	store := &memoryStore{}
	p := play(t, store, RoundConfig{Keyed: true})
	p.key(0.150, 0.150)
	p = play(t, store, RoundConfig{Sheet: turned(), Stage: record.StageAsFound, Feature: record.FeatureBacklash, Keyed: true})
	assert.InDelta(t, 0.150/0.769751, p.View().Positions[0].Value, 1e-5)
	assert.Equal(t, 2, p.View().Stored)
	require.NoError(t, p.Command(CmdUndo))
	assert.InDelta(t, 0.150, store.captures[2].Value, 1e-9, "the rejection says what was measured")
	assert.Equal(t, setup.Normal, store.captures[2].Convention)

	unknown := turned()
	unknown.Plunger.Measured = "unknown"
	p = play(t, store, RoundConfig{Sheet: unknown, Stage: record.StageAsFound, Feature: record.FeatureBacklash, Keyed: true})
	assert.Zero(t, p.View().Stored)
	p.key(0.2)
	assert.Equal(t, 1, store.captures[3].Supersedes)
}
