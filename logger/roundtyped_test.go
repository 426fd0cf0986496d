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

func TestAirTestWithAPlainGauge(t *testing.T) {
	// 2 kPa in 10 min; 0.02 bar in 10 min; 1 psi (6.894757 kPa, NIST SP 811)
	// in half an hour.
	for _, tt := range []struct {
		lines []string
		want  float64
		note  string
	}{
		{[]string{"690 688 kPa 10 min"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"10 min 690 kPa 688 kPa"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"6.9 bar", "6.88", "10"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"100 psi", "99 psi", "1800 s"}, 6.894757 / 30, "in 30 min"},
		{[]string{"690 kPa 20 C 688 kPa 20 C 10 min"}, 0.2, "690 to 688 kPa in 10 min"},
		{[]string{"0.2 kPa/min"}, 0.2, ""},
	} {
		p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: record.FeatureLeakDown, Keyed: true})
		for _, line := range tt.lines {
			require.NoError(t, p.typeLine(line))
		}
		require.True(t, p.Done(), "%q: %s", tt.lines, p.View().Alert)
		c := p.store.captures[0]
		assert.InDelta(t, tt.want, c.Value, 1e-5, tt.lines)
		assert.Equal(t, "kPa/min", c.Unit)
		assert.Contains(t, c.Note, tt.note)
	}
}

func TestAirTestAsksWhatABareNumberIs(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: record.FeatureLeakDown, Keyed: true})
	assert.Contains(t, p.View().Action, "with its unit")
	require.NoError(t, p.typeLine("690"))
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "690 of what?")
	require.NoError(t, p.typeLine("690 kPa"))
	assert.Empty(t, p.View().Alert)
	assert.Contains(t, p.View().Action, "type the pressure in kPa")
	require.NoError(t, p.typeLine("688"))
	assert.Contains(t, p.View().Action, "minutes")
	require.NoError(t, p.typeLine("0"))
	assert.Contains(t, p.View().Alert, "no time")
	require.NoError(t, p.typeLine("10"))
	require.True(t, p.Done())
	assert.InDelta(t, 0.0408, p.store.captures[0].U, 1e-4, "two readings to the last digit")
	require.NoError(t, p.Command(CmdUndo))
	require.NoError(t, p.typeLine("10 min"))
	assert.False(t, p.Done(), "an undone test begins anew")

	live := play(t, &memoryStore{}, RoundConfig{Stage: record.StageFinal, Feature: record.FeatureLeakDown})
	require.NoError(t, live.Command(CmdKeyed(688, "")))
	assert.Empty(t, live.store.captures)
	assert.Contains(t, live.View().Alert, "unit")
}

func TestParseTypedSaysWhatIsWanted(t *testing.T) {
	for _, tt := range []struct{ feature, line, want string }{
		{record.FeatureBacklash, "soft", "not one value: want one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div"},
		{record.FeatureCapBolts, "soft", "not one value: want a torque such as 95, 70 lbf ft or 9.7 kgf m"},
		{record.FeaturePreloadPinion, "2 furlong", `unit "furlong" is not known: want a torque such as 1.5, 13 kgf cm, 12 lbf in or 40 N x 35 mm`},
		{record.FeatureOilFill, "two", "not one value: want a volume such as 1.9, 1900 ml or 2 qt (US)"},
		{record.FeatureEngagement, "no", "which of them failed is not said: want yes, yes 0.6 s, no lock or no free"},
		{record.FeatureEngagement, "yes 3 mm", "not a time: want yes, yes 0.6 s, no lock or no free"},
		{record.FeatureLeakDown, "690 furlong 3", `"690 furlong" is unit "furlong" is not known: want the pressure, the pressure later and the time between, such as 690 688 kPa 10 min`},
		{record.FeatureLeakDown, "1 2 3 4 5 6", "6 values: want the pressure, the pressure later and the time between, such as 690 688 kPa 10 min"},
		{record.FeatureCapBolts, "3 div", "the size of a division is not known: want a torque such as 95, 70 lbf ft or 9.7 kgf m"},
	} {
		_, err := feature.ParseTyped(tt.feature, tt.line, 0.01)
		assert.EqualError(t, err, tt.want)
	}
}

func TestTypedUnits(t *testing.T) {
	// 60 lbf·ft = 81.349 N·m, 12 lbf·in = 1.35582 N·m, 13 kgf·cm = 1.27486 N·m,
	// a US quart 0.946353 L: NIST SP 811 (2008), appendix B.8.
	for _, tt := range []struct {
		feature, line string
		want          float64
	}{
		{record.FeatureCapBolts, "60 ft lbs", 81.34908},
		{record.FeaturePreloadTotal, "12 lbf in", 1.355818},
		{record.FeaturePreloadTotal, "13 kgf cm", 1.274865},
		{record.FeatureOilFill, "2.1 L", 2.1},
		{record.FeatureOilFill, "1900 ml", 1.9},
		{record.FeatureOilFill, "2 qt", 1.892706},
	} {
		s := sheet.Example()
		for i := range s.Bolts {
			s.Bolts[i].Unit, s.Bolts[i].Target, s.Bolts[i].PassesPct = "N·m", 80, []int{100}
		}
		p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageCaps, Feature: tt.feature, Keyed: true})
		require.NoError(t, p.typeLine(tt.line))
		require.Len(t, p.store.captures, 1, "%s: %s", tt.line, p.View().Alert)
		assert.InDelta(t, tt.want, p.store.captures[0].Value, 1e-5, tt.line)
	}
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

func TestAbsurdValueIsAskedOnce(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true})
	require.NoError(t, p.typeLine("0.9"))
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "0.9 mm is 4.5 times the limit of 0.2 mm. Type it again")
	assert.Equal(t, 1, p.View().Alarm)
	require.NoError(t, p.typeLine("0.09"))
	require.Len(t, p.store.captures, 1, "another value is the answer no")
	assert.Equal(t, 1, p.store.captures[0].Position)
	require.NoError(t, p.typeLine("0.9"))
	require.NoError(t, p.typeLine("0.9"))
	require.Len(t, p.store.captures, 2)
	assert.Equal(t, 0.9, p.store.captures[1].Value)
}

func TestAbsurdTorqueIsAskedAndOverTorqueRings(t *testing.T) {
	s := sheet.Example()
	for i := range s.Bolts {
		s.Bolts[i].Unit, s.Bolts[i].Target, s.Bolts[i].PassesPct, s.Bolts[i].TolerancePct = "N·m", 68, []int{100}, 10
	}
	p := play(t, &memoryStore{}, RoundConfig{Sheet: s, Stage: record.StageCaps, Feature: record.FeatureCapBolts, Keyed: true})
	require.NoError(t, p.typeLine("900"))
	assert.Empty(t, p.store.captures)
	assert.Contains(t, p.View().Alert, "13.2 times the target of 68 N·m")
	require.NoError(t, p.typeLine("80"))
	require.Len(t, p.store.captures, 1)
	assert.Equal(t, 2, p.View().Alarm)
	assert.Contains(t, p.View().Alert, "over its 68")
	require.NoError(t, p.typeLine("68"))
	assert.Equal(t, 2, p.View().Alarm)
}

func TestAbsurdRunoutLevelIsAsked(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Stage: record.StageBench, Feature: record.FeatureRunoutBackFace, Keyed: true})
	require.NoError(t, p.typeLine("2.50"))
	require.NoError(t, p.typeLine("2.52"))
	require.Len(t, p.store.captures, 2, "levels may be anywhere")
	require.NoError(t, p.typeLine("0.253"))
	assert.Len(t, p.store.captures, 2)
	assert.Contains(t, p.View().Alert, "from the other places")
}

// In a file the values after a doubtful one would move up by one position.
func TestPipedValuesEndAtAnAbsurdOne(t *testing.T) {
	p := play(t, &memoryStore{}, RoundConfig{Keyed: true, Piped: true})
	require.NoError(t, p.typeLine("0.17"))
	require.NoError(t, p.typeLine("1.7"))
	err := p.typeLine("0.16")
	require.Error(t, err)
	assert.Contains(t, err.Error(), "position 2, 45 degrees: 1.7 mm is 8.5 times the limit of 0.2 mm and is not stored, nor is what follows")
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
