package report

import (
	"fmt"
	"math"
	"slices"
	"time"

	"crownlog/analysis/leak"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// reportDate is on every report of the tests.
var reportDate = time.Date(2026, 3, 14, 16, 30, 0, 0, time.UTC)

func ptr(v float64) *float64 { return &v }

// demoSheet is an invented axle.
func demoSheet() sheet.Sheet {
	return sheet.Sheet{
		Schema: 1, Invented: true,
		Vehicle:   sheet.Vehicle{Label: "Demo wagon 7 (invented)", Job: "D-0417", Axle: "rear", Odometer: "184 200 km", Operator: "demo hands"},
		GearSet:   sheet.GearSet{PinionTeeth: 10, WheelTeeth: 41, WheelDiameter: 210, PressureAngleDeg: 20, SpiralAngleDeg: 35, ToothForm: "tapered", PinionDepth: "locked", Used: true},
		Plunger:   sheet.Plunger{Measured: "normal", Spec: "normal", ContactRadius: 100, HeelRadius: 100, FaceToMeshDeg: ptr(340)},
		Adjuster:  sheet.Adjuster{Kind: "threaded", PitchMM: 1.5, Notches: 14},
		Gauge:     sheet.GaugeData{Label: "indicator 1", Profile: "text", ResolutionMM: 0.001, MPEMM: 0.003, Calibrated: "2025-11-02"},
		Positions: 8,
		Windows: []sheet.Window{
			{Feature: record.FeatureBacklash, Unit: "mm", Lower: ptr(0.13), Upper: ptr(0.20), MaxSpread: ptr(0.05), Rule: "all-inside", Source: "invented"},
			{Feature: record.FeatureRunoutBackFace, Unit: "mm", Upper: ptr(0.08), Source: "invented"},
			{Feature: record.FeatureRunoutFlange, Unit: "mm", Upper: ptr(0.05), Source: "invented"},
			{Feature: record.FeaturePreloadTotal, Unit: "N·m", Lower: ptr(1.7), Upper: ptr(2.5), Source: "invented"},
			{Feature: record.FeatureLeakDown, Unit: "kPa/min", Upper: ptr(3), Source: "invented", Default: true},
		},
		Bolts: []sheet.BoltList{
			{Feature: record.FeatureWheelBolts, Count: 10, Unit: "N·m", Target: 98, TolerancePct: 4, PassesPct: []int{100}, Sequence: []int{1, 6, 3, 8, 5, 10, 2, 7, 4, 9}, OneTime: true, ThreadLocker: true},
			{Feature: record.FeatureCapBolts, Count: 4, Unit: "lbf·ft", Target: 65, TolerancePct: 4, PassesPct: []int{100}, Sequence: []int{1, 3, 2, 4}},
		},
	}
}

// A demoJob makes captures with rising ids and times.
type demoJob struct{ captures []record.Capture }

func (j *demoJob) add(stage, feature string, position int, angle, value, u float64, unit string) *record.Capture {
	nan := math.NaN()
	j.captures = append(j.captures, record.Capture{
		ID: len(j.captures) + 1, Time: time.Date(2026, 3, 14, 8, 0, 0, 0, time.UTC).Add(time.Duration(len(j.captures)) * time.Minute),
		Stage: stage, Feature: feature, Position: position, AngleDeg: angle, Value: value, Unit: unit, U: u, N: 5,
		Low: nan, High: nan, Quality: "ok", Gauge: "indicator 1", Repeatability: nan, Convention: "normal", RadiusMM: 100,
	})
	return &j.captures[len(j.captures)-1]
}

// backlash adds a round of eight: mean, once and twice around.
func (j *demoJob) backlash(stage string, mean, h1, phase1, h2 float64) {
	for p := 1; p <= 8; p++ {
		angle := float64(p-1) * 45
		v := mean + h1*math.Cos((angle-phase1)*math.Pi/180) + h2*math.Cos(2*(angle-30)*math.Pi/180) + 0.001*float64(p*5%7-3)
		j.add(stage, record.FeatureBacklash, p, angle, math.Round(v*1000)/1000, 0.0021, "mm").Repeatability = 0.0012
	}
}

func (j *demoJob) runout(stage, feature string, h1, phase1, h2, phase2 float64) {
	for p := 1; p <= 8; p++ {
		angle := float64(p-1) * 45
		v := h1*math.Cos((angle-phase1)*math.Pi/180) + h2*math.Cos(2*(angle-phase2)*math.Pi/180) + 0.001*float64(p*3%5-2)
		j.add(stage, feature, p, angle, math.Round(v*1000)/1000, 0.0015, "mm")
	}
}

// demoCaptures is the whole invented job, with a rejected reading, an undone
// one, an override and notes.
func demoCaptures() []record.Capture {
	nan := math.NaN()
	j := &demoJob{}
	text := func(stage, feature, note string) { j.add(stage, feature, 0, nan, nan, nan, "").ReadNote(note) }
	whole := func(stage, feature string, v, u float64, unit, note string) {
		j.add(stage, feature, 0, nan, v, u, unit).ReadNote(note)
	}
	j.backlash(record.StageAsFound, 0.172, 0.012, 200, 0.004)
	j.runout(record.StageBench, record.FeatureRunoutFlange, 0.009, 60, 0.003, 20)
	for k, bolt := range []int{1, 6, 3, 8, 5, 10, 2, 7, 4, 9} {
		c := j.add(record.StageBench, record.FeatureWheelBolts, bolt, float64(bolt-1)*36, 97.2+0.35*float64(k*7%6), 0.9, "N·m")
		c.Gauge, c.N = "torque wrench", 1
	}
	j.runout(record.StageBench, record.FeatureRunoutBackFace, 0.021, 141, 0.006, 33)
	text(record.StageBench, record.FeatureNote, "Thread-locker, medium, batch 2231; flange stoned, two burrs taken off.")
	j.backlash(record.StageSetUp, 0.221, 0.014, 120, 0.004)
	whole(record.StageSetUp, record.FeatureMove, 1, nan, "notch", "both sides one notch")
	j.backlash(record.StageSetUp, 0.138, 0.014, 122, 0.004)
	whole(record.StageSetUp, record.FeatureMove, -1, nan, "notch", "back two, forward one")
	j.backlash(record.StageSetUp, 0.160, 0.013, 121, 0.004)
	for i, v := range []float64{-0.05, 0.1} {
		j.add(record.StageSetUp, record.FeaturePatternDrive, i+1, nan, v, nan, "")
	}
	for i, v := range []float64{0.2, -0.1} {
		j.add(record.StageSetUp, record.FeaturePatternCoast, i+1, nan, v, nan, "")
	}
	for k, bolt := range []int{1, 3, 2, 4} {
		j.add(record.StageCaps, record.FeatureCapBolts, bolt, float64(bolt-1)*90, 87.1+0.6*float64(k), 0.8, "N·m").Gauge = "torque wrench"
	}
	j.backlash(record.StageCaps, 0.171, 0.013, 121, 0.004)
	c := j.add(record.StageCaps, record.FeatureBacklash, 3, 90, 0.142, 0.004, "mm")
	c.Quality, c.Note = record.QualityRejected, "the pinion slipped"
	whole(record.StageCaps, record.FeaturePreloadTotal, 2.12, 0.06, "N·m", "")
	j.backlash(record.StageFinal, 0.169, 0.013, 121, 0.004)
	whole(record.StageFinal, record.FeatureLeakDown, 1.24, 0.11, "kPa/min", "")
	text(record.StageFinal, record.FeatureOverride, "final-engagement: no compressor here")
	for part := 1; part <= 3; part++ {
		j.add(record.StageFinal, record.FeatureCloseUp, part, nan, 1, nan, "")
	}
	whole(record.StageFinal, record.FeatureOilFill, 2.6, nan, "L", "80W-90")
	return j.captures
}

// demoLeak is fifteen minutes of pressure.
func demoLeak() []leak.Sample {
	var s []leak.Sample
	for k := 0; k <= 900; k += 5 {
		s = append(s, leak.Sample{T: float64(k), P: 652 - 1.24*float64(k)/60 + 0.15*math.Sin(float64(k)/17), TempC: math.NaN()})
	}
	return s
}

// airTest is the first air test of d.
func airTest(d Data) *Measured {
	return &d.Measured[slices.IndexFunc(d.Measured, func(m Measured) bool { return m.Feature == record.FeatureLeakDown })]
}

func demoData() Data {
	d := Build(demoSheet(), demoCaptures(), reportDate)
	airTest(d).Curve = demoLeak()
	d.Findings = []sheet.Finding{
		{Severity: sheet.Warning, Where: "window leak-down", Text: "this is a default: put the maker's figure in"},
		{Severity: sheet.Advice, Where: "bolts", Text: "not for the report"},
	}
	return d
}

// manyPositions is a round of 41 positions with some outside the window.
func manyPositions() Data {
	sheet := demoSheet()
	sheet.Positions = 41
	sheet.Vehicle.Label = "Ελληνικό όχημα / Грузовик 🚚 with a name that goes on for rather longer than anyone would like it to"
	j := &demoJob{}
	for p := 1; p <= 41; p++ {
		j.add(record.StageAsFound, record.FeatureBacklash, p, float64(p-1)*360/41, 0.17+0.05*math.Cos(float64(p)/6), 0.002, "mm")
	}
	c := j.add(record.StageAsFound, record.FeatureNote, 0, math.NaN(), math.NaN(), math.NaN(), "")
	c.Note = fmt.Sprintf("<script>alert(%q)</script> & 5 < 6", "x")
	return Build(sheet, j.captures, reportDate)
}
