package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/logger/record"
)

func TestCheckFindsMisprints(t *testing.T) {
	number := func(v float64) *float64 { return &v }
	tests := []struct {
		name   string
		change func(*Sheet)
		where  string
	}{
		{"factor of ten between the columns", func(s *Sheet) {
			s.Bolts[0].AlsoTarget, s.Bolts[0].AlsoUnit = 7.2, "lbf·ft"
		}, "bolts bolt-torque-crown-wheel"},
		{"kgf·cm for kgf·m", func(s *Sheet) { s.Bolts[0].Target, s.Bolts[0].Unit = 10, "kgf·cm" }, "bolts bolt-torque-crown-wheel"},
		{"above the bolt's ceiling", func(s *Sheet) { s.Bolts[0].Target = 980 }, "bolts bolt-torque-crown-wheel"},
		{"window for another size", func(s *Sheet) { s.Windows[0].Lower, s.Windows[0].Upper = number(1.3), number(2.0) }, "window backlash"},
		{"preload misprint", func(s *Sheet) {
			for i := range s.Windows {
				if s.Windows[i].Feature == record.FeaturePreloadTotal {
					s.Windows[i].Lower, s.Windows[i].Upper = number(17), number(25)
				}
			}
		}, "window preload-total"},
		{"ratio of no axle", func(s *Sheet) { s.GearSet.WheelTeeth = 12 }, "gear_set"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := Example()
			tt.change(&s)
			found := false
			for _, f := range s.Check() {
				found = found || f.Severity == Doubt && f.Where == tt.where
			}
			assert.True(t, found, "findings: %+v", s.Check())
		})
	}
	s := Example()
	s.Gauge.ResolutionMM, s.Gauge.MPEMM = 0.1, 0.05
	assert.Contains(t, findingText(s, "gauge"), "window")
}

// TestCheckWarns is about what the verdicts will lack.
func TestCheckWarns(t *testing.T) {
	for _, tt := range []struct {
		name        string
		change      func(*Sheet)
		where, text string
	}{
		{"resolution unknown", func(s *Sheet) { s.Gauge.ResolutionMM = 0 }, "gauge", "resolution of the gauge is not entered"},
		{"permissible error unknown", func(s *Sheet) { s.Gauge.MPEMM = 0 }, "gauge", "permissible error of the gauge is not entered"},
		{"unknown thread", func(s *Sheet) { s.Bolts[0].Thread = "banana" }, "bolts bolt-torque-crown-wheel", "the torque is not checked"},
		{"unknown class", func(s *Sheet) { s.Bolts[0].Class = "1O.9" }, "bolts bolt-torque-crown-wheel", "the torque is not checked"},
		{"seal not said", func(s *Sheet) { s.Preload.WithSeal = nil }, "window preload-total", "with the seal fitted"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := Example()
			assert.NotContains(t, findingText(s, tt.where), tt.text)
			tt.change(&s)
			assert.Contains(t, findingText(s, tt.where), tt.text)
		})
	}
}

func findingText(s Sheet, where string) string {
	var all []string
	for _, f := range s.Check() {
		if f.Where == where {
			all = append(all, f.Text)
		}
	}
	return strings.Join(all, "\n")
}

// TestCheckIsSilent just inside of what is doubted.
func TestCheckIsSilent(t *testing.T) {
	for _, tt := range []struct {
		name        string
		change      func(*Sheet)
		where, text string // what would be found a step further
		step        func(*Sheet)
	}{
		{"lowest ratio", func(s *Sheet) { s.GearSet.PinionTeeth, s.GearSet.WheelTeeth = 10, 25 }, "gear_set", "is a ratio of",
			func(s *Sheet) { s.GearSet.WheelTeeth = 24 }},
		{"highest ratio", func(s *Sheet) { s.GearSet.PinionTeeth, s.GearSet.WheelTeeth = 10, 80 }, "gear_set", "is a ratio of",
			func(s *Sheet) { s.GearSet.WheelTeeth = 81 }},
		{"a face that leaves room", func(*Sheet) {}, "window runout-back-face", "a back face at its limit of 0.120 mm swings the backlash by about 0.080 mm",
			func(s *Sheet) { s.Windows[1].Upper = new(0.12) }},
		{"a spiral of the wheel", func(s *Sheet) { s.GearSet.SpiralAngleDeg = 40 }, "gear_set", "41 is the pinion's?",
			func(s *Sheet) { s.GearSet.SpiralAngleDeg = 41 }},
		{"a hunting set", func(s *Sheet) { s.GearSet.PinionTeeth, s.GearSet.WheelTeeth = 14, 41 }, "gear_set", "14 and 42 teeth can both be divided by 14: a non-hunting set",
			func(s *Sheet) { s.GearSet.WheelTeeth = 42 }},
		{"teeth", func(*Sheet) {}, "gear_set", "count the teeth", func(s *Sheet) { s.GearSet.PinionTeeth = 0 }},
		{"both radii", func(*Sheet) {}, "plunger", "give both radii", func(s *Sheet) { s.Plunger.ContactRadius = 0 }},
		{"neither radius", func(s *Sheet) { s.Plunger.ContactRadius, s.Plunger.HeelRadius = 0, 0 }, "plunger", "give both radii",
			func(s *Sheet) { s.Plunger.HeelRadius = 106 }},
		{"one convention", func(*Sheet) {}, "plunger", "the window is converted by 0.788", func(s *Sheet) { s.Plunger.Spec = "transverse" }},
		{"a plunger that is known", func(s *Sheet) { s.Plunger.Spec = "unknown" }, "plunger", "neither how the plunger reads",
			func(s *Sheet) { s.Plunger.Measured = "unknown" }},
		{"conventions", func(*Sheet) {}, "plunger", "the manual means unknown, the plunger reads normal", func(s *Sheet) { s.Plunger.Spec = "" }},
		{"seal of the pinion", func(s *Sheet) { s.Windows[3].Feature = record.FeaturePreloadPinion }, "window preload-pinion", "with the seal fitted",
			func(s *Sheet) { s.Preload.WithSeal = nil }},
		{"figure of the maker", func(*Sheet) {}, "window runout-back-face", "this is a default (no source)",
			func(s *Sheet) { s.Windows[1].Default, s.Windows[1].Source = true, "" }},
		{"page", func(*Sheet) {}, "window runout-back-face", "note the page", func(s *Sheet) { s.Windows[1].Source = "" }},
		{"columns that agree", func(s *Sheet) { s.Windows[3].AlsoUpper, s.Windows[3].AlsoUnit = new(22.1), "lbf·in" }, "window preload-total", "a factor of ten apart",
			func(s *Sheet) { s.Windows[3].AlsoUpper = new(221.0) }},
		{"a wrench that decides", func(*Sheet) {}, "bolts bolt-torque-crown-wheel", "cannot decide a tolerance of 10 %",
			func(s *Sheet) { s.Bolts[0].WrenchMPEPct = 9 }},
		{"thread and class", func(*Sheet) {}, "bolts bolt-torque-crown-wheel", "with thread and class", func(s *Sheet) { s.Bolts[0].Class = "" }},
		{"open time", func(*Sheet) {}, "bolts bolt-torque-crown-wheel", "open time is taken as 10 minutes", func(s *Sheet) { s.Bolts[0].OpenTimeMin = 0 }},
		{"no locker", func(s *Sheet) { s.Bolts[0].ThreadLocker, s.Bolts[0].OpenTimeMin = false, 0 }, "bolts bolt-torque-crown-wheel", "open time",
			func(s *Sheet) { s.Bolts[0].ThreadLocker = true }},
		{"a window", func(*Sheet) {}, "window backlash", "there is no backlash window", func(s *Sheet) { s.Windows = s.Windows[1:] }},
	} {
		t.Run(tt.name, func(t *testing.T) {
			s := Example()
			tt.change(&s)
			assert.NotContains(t, findingText(s, tt.where), tt.text)
			tt.step(&s)
			assert.Contains(t, findingText(s, tt.where), tt.text)
		})
	}
}
