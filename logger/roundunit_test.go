package logger

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

func inchSheet() sheet.Sheet {
	s := sheet.Example()
	lower, upper := 9.0, 14.0
	for i := range s.Windows {
		if s.Windows[i].Feature == record.FeaturePreloadTotal {
			s.Windows[i].Unit, s.Windows[i].Lower, s.Windows[i].Upper = "lbf·in", &lower, &upper
		}
	}
	for i := range s.Bolts {
		s.Bolts[i].Unit, s.Bolts[i].Target = "lbf·ft", 60
	}
	return s
}

func TestTypedValuesAreInTheManualsUnit(t *testing.T) {
	store := &memoryStore{}
	p := play(t, store, RoundConfig{Sheet: inchSheet(), Stage: record.StageFinal, Feature: record.FeaturePreloadTotal, Keyed: true})
	assert.Contains(t, p.View().Action, "in lbf·in")
	assert.Equal(t, "lbf·in", p.View().Typed)
	assert.Equal(t, "9 to 14 lbf·in", p.View().Printed)
	p.key(12)
	require.NotEmpty(t, store.captures)
	// NIST SP 811, B.8: 1 lbf·in is 0.112 984 8 N·m.
	assert.InDelta(t, 12*0.1129848, store.captures[0].Value, 1e-5)
}

func TestBoltsAreAskedForInTheManualsUnit(t *testing.T) {
	store := &memoryStore{}
	p := play(t, store, RoundConfig{Sheet: inchSheet(), Stage: record.StageBench, Feature: record.FeatureWheelBolts, Keyed: true})
	// NIST SP 811, B.8: 1 lbf·ft is 1.355 818 N·m.
	assert.Contains(t, p.View().Action, "to 18 lbf·ft (24.4 N·m)")
	p.key(18)
	require.NotEmpty(t, store.captures)
	assert.InDelta(t, 18*1.355818, store.captures[0].Value, 1e-4)
}
