package logger

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
	"crownlog/device"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// typeLine types a line as the keyed gauge hands it on.
func (p *played) typeLine(line string) error {
	p.t.Helper()
	values, err := feature.ParseTyped(p.cfg.Feature, line, 0.01)
	require.NoError(p.t, err)
	for _, v := range values {
		at := p.time().Add(timeStep)
		err := p.Handle(device.Event{Kind: device.EventReading, Time: at, Gauge: "keyed",
			Reading: device.Reading{Time: at, Gauge: "keyed", Raw: line, Value: v.Value, Unit: v.Unit}})
		if err != nil {
			return err
		}
	}
	return nil
}

// A division is one of the gauge's, also where the manual is in inches.
func TestTypedDivisionsAreOfTheGauge(t *testing.T) {
	s := sheet.Example()
	for i, w := range s.Windows {
		if w.Feature == record.FeatureBacklash {
			lower, upper := 0.005, 0.008
			s.Windows[i].Unit, s.Windows[i].Lower, s.Windows[i].Upper = "in", &lower, &upper
			s.Windows[i].MaxSpread, s.Windows[i].Floor = nil, nil
		}
	}
	p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Keyed: true})
	require.NoError(t, p.typeLine("16 div"))
	require.NoError(t, p.typeLine("0.007"))
	require.Len(t, p.store.captures, 2, p.View().Alert)
	assert.InDelta(t, 0.16, p.store.captures[0].Value, 1e-9)
	assert.InDelta(t, 0.007*25.4, p.store.captures[1].Value, 1e-9)
}

func TestEngagementByTry(t *testing.T) {
	s := sheet.Example()
	s.Engagement.Cycles = 4
	store := &memoryStore{}
	p := play(t, store, RoundConfig{Sheet: s, Stage: record.StageFinal, Feature: record.FeatureEngagement, Keyed: true})
	assert.Contains(t, p.View().Action, "Did it lock and free?")
	require.NoError(t, p.typeLine("yes 0.6"))
	require.NoError(t, p.typeLine("YES"))
	assert.Zero(t, p.View().Alarm)
	require.NoError(t, p.typeLine("did not lock"))
	assert.Equal(t, 1, p.View().Alarm)
	assert.Contains(t, p.View().Alert, "Cycle 3: it did not lock")
	assert.Equal(t, gum.Outside, p.View().Verdict)
	require.NoError(t, p.typeLine("0.7 s"))
	require.True(t, p.Done())

	assert.InDelta(t, 0.6, store.captures[0].Value, 1e-12)
	assert.True(t, math.IsNaN(store.captures[1].Value), "a yes without a time has none")
	assert.True(t, feature.TryFailed(store.captures[2]))
	assert.Equal(t, "yes", p.View().Positions[1].Word)
	assert.Equal(t, gum.Outside, p.View().Positions[2].Verdict)
	round := feature.Assess(s, store.captures, record.StageFinal, record.FeatureEngagement)
	assert.Equal(t, gum.Outside, round.Verdict)
	assert.Equal(t, "cycle 3 did not lock", round.Reason())
	assert.Empty(t, round.Round.Missing)

	again := play(t, store, RoundConfig{Sheet: s, Stage: record.StageFinal, Feature: record.FeatureEngagement, Keyed: true, Again: true})
	for range 4 {
		require.NoError(t, again.typeLine("yes"))
	}
	round = feature.Assess(s, store.captures, record.StageFinal, record.FeatureEngagement)
	assert.NotEqual(t, gum.Outside, round.Verdict)
	assert.Equal(t, "locked and freed 4 times of 4", round.Reason())
	require.NoError(t, again.Command(CmdUndo))
	require.NoError(t, again.typeLine("no free"))
	assert.Equal(t, "cycle 4 did not free", feature.Assess(s, store.captures, record.StageFinal, record.FeatureEngagement).Reason())
}

func TestEngagementByItsWindow(t *testing.T) {
	s := sheet.Example()
	s.Engagement.Cycles = 2
	upper := 1.0
	s.Windows = append(s.Windows, sheet.Window{Feature: record.FeatureEngagement, Unit: "s", Upper: &upper})
	for want, lines := range map[gum.Verdict][]string{
		gum.Inside:     {"0.60", "yes 0.65"},
		gum.NotDecided: {"0.65", "yes"},
		gum.Outside:    {"1.6", "yes"},
	} {
		p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageFinal, Feature: record.FeatureEngagement, Keyed: true})
		for _, line := range lines {
			require.NoError(t, p.typeLine(line))
		}
		require.True(t, p.Done())
		assert.Equal(t, want, p.View().Verdict, lines)
	}
}

// In a file the values after a doubtful one would move up by one position.
func TestPipedValuesEndAtAnAbsurdOne(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true, Piped: true})
	require.NoError(t, p.typeLine("0.17"))
	require.NoError(t, p.typeLine("1.7"))
	err := p.typeLine("0.16")
	require.Error(t, err)
	assert.Contains(t, err.Error(), "position 2, 45 degrees (tooth 6): 1.7 mm is 8.5 times the limit of 0.2 mm and is not stored, nor is what follows")
	assert.Len(t, p.store.captures, 1)

	last := play(t, &memoryStore{}, RoundConfig{Keyed: true, Piped: true})
	require.NoError(t, last.typeLine("1.7"))
	require.Error(t, last.Handle(device.Event{Kind: device.EventEnd, Time: testTime.Add(time.Hour)}))

	twice := play(t, &memoryStore{}, RoundConfig{Keyed: true, Piped: true})
	require.NoError(t, twice.typeLine("1.7"))
	require.NoError(t, twice.typeLine("1.7"))
	require.NoError(t, twice.typeLine("0.16"))
	assert.Len(t, twice.store.captures, 2)
}

// A value that is far off is stored once it is typed again; another is the answer
// no and is stored in its place.
func TestDoubtedValueIsAskedOnce(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	p.key(1.8)
	assert.Empty(t, p.store.captures)
	assert.Equal(t, "1.8 mm is 9 times the limit of 0.2 mm. Type it again if it is so, or type the right one.", p.View().Alert)
	assert.Equal(t, 1, p.View().Alarm)
	p.key(0.18)
	require.Len(t, p.store.captures, 1)
	assert.Empty(t, p.View().Alert)
	p.key(1.8, 1.8)
	require.Len(t, p.store.captures, 2)
	assert.Equal(t, 1.8, p.store.captures[1].Value)
}
