package sheet

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"crownlog/analysis"
	"crownlog/device/strict"
	"crownlog/logger/record"
)

// SheetSchema is the newest schema of job.toml this package reads, and the one it
// writes. 2 has the keys of 1: a program that knows 1 alone must not take the chain
// of the job's captures.csv for damage, so it must leave the job alone.
const SheetSchema = 2

// ErrNewerSchema marks a job sheet written for a later crownlog.
var ErrNewerSchema = errors.New("job.toml has a newer schema")

// Load reads a job sheet strictly. Every mistake it finds is a *strict.Error with
// file, line and column; several are joined. A sheet with a newer schema fails with
// ErrNewerSchema.
func Load(path string) (Sheet, error) {
	text, err := strict.ReadFile(path)
	if err != nil {
		return Sheet{}, fmt.Errorf("read job.toml: %w", err)
	}
	return Parse(path, text)
}

// schemaLine is the line that names the schema. It is looked for by itself, so that a
// newer sheet is called newer, not full of unknown keys.
var schemaLine = regexp.MustCompile(`(?m)^schema[ \t]*=[ \t]*(\d+)`)

// Parse is Load on text; name stands for the file in errors.
func Parse(name string, text []byte) (Sheet, error) {
	if m := schemaLine.FindSubmatchIndex(text); m != nil {
		if schema, _ := strconv.Atoi(string(text[m[2]:m[3]])); schema > SheetSchema {
			return Sheet{}, fmt.Errorf("%s:%d:1: %w: schema %d, this program reads up to %d",
				name, 1+bytes.Count(text[:m[0]], []byte("\n")), ErrNewerSchema, schema, SheetSchema)
		}
	}
	return strict.Decode(name, text, sheetMistakes)
}

// A mistakeList collects what cannot be in a sheet, each with its path as strict.Decode
// wants it.
type mistakeList []*strict.Error

func (l *mistakeList) add(path, format string, args ...any) {
	*l = append(*l, &strict.Error{Key: path, Text: fmt.Sprintf(format, args...)})
}

// sheetMistakes finds values that no axle can have. What is merely odd is
// Check's.
func sheetMistakes(s Sheet) []*strict.Error {
	l := new(mistakeList)
	if s.Schema < 1 {
		l.add("schema", "missing; write schema = %d", SheetSchema)
	}
	if strings.TrimSpace(s.Vehicle.Label) == "" {
		l.add("vehicle.label", "missing; write any name of your own for the vehicle")
	}
	if s.Positions != 0 {
		within(l, "positions", s.Positions, 3, 72, "0 for whole pinion turns, or 3 to 72 places")
	}
	for i, name := range s.Stages {
		if err := record.SafeName(name); err != nil {
			l.add("stages", "%v", err)
		}
		if slices.Contains(s.Stages[:i], name) {
			l.add("stages", "%q is listed twice", name)
		}
	}
	l.gearSet(s.GearSet)
	l.tools(s)
	for i, w := range s.Windows {
		l.window(i, w, s.Windows[:i], s.StageList())
	}
	for i, b := range s.Bolts {
		l.bolts(i, b, s.Bolts[:i])
	}
	l.checks(s)
	return *l
}

func (l *mistakeList) checks(s Sheet) {
	names := []string{CheckCopied}
	for i, c := range s.Checks {
		at := fmt.Sprintf("check.#%d.", i)
		if err := record.SafeName(c.Name); err != nil {
			l.add(at+"name", "%v", err)
		} else if slices.Contains(names, c.Name) {
			l.add(at+"name", "%q is taken", c.Name)
		}
		names = append(names, c.Name)
		if !slices.Contains(s.StageList(), c.Stage) {
			l.add(at+"stage", "%q: want one of %s", c.Stage, strings.Join(s.StageList(), ", "))
		}
		if strings.TrimSpace(c.What) == "" {
			l.add(at+"what", "missing; say in a few words what is to be so")
		}
	}
}

func (l *mistakeList) gearSet(g GearSet) {
	within(l, "gear_set.pinion_teeth", g.PinionTeeth, 0, 60, "the number of pinion teeth, or 0 when unknown")
	within(l, "gear_set.wheel_teeth", g.WheelTeeth, 0, 200, "the number of crown wheel teeth, or 0 when unknown")
	if g.PinionTeeth > 0 && g.WheelTeeth > 0 && g.WheelTeeth < g.PinionTeeth {
		l.add("gear_set.wheel_teeth", "%d is less than the pinion's %d teeth: are they swapped?", g.WheelTeeth, g.PinionTeeth)
	}
	within(l, "gear_set.wheel_diameter_mm", g.WheelDiameter, 0, 2000, "the outside diameter in mm, or 0 when unknown")
	within(l, "gear_set.pressure_angle_deg", g.PressureAngleDeg, 0, 45, "degrees from 0 to 45, usually 20 or 22.5")
	within(l, "gear_set.spiral_angle_deg", g.SpiralAngleDeg, 0, 60, "degrees from 0 to 60, the crown wheel's, usually 25 to 35")
	l.word("gear_set.tooth_form", g.ToothForm, "tapered", "uniform", "unknown")
	l.word("gear_set.pinion_depth", g.PinionDepth, "locked", "free")
	l.word("gear_set.aim", g.Aim, AimAsFound, AimWindow)
}

func (l *mistakeList) tools(s Sheet) {
	l.word("plunger.measured", s.Plunger.Measured, "normal", "transverse", "unknown")
	l.word("plunger.spec", s.Plunger.Spec, "normal", "transverse", "unknown")
	within(l, "plunger.cosine_deg", s.Plunger.CosineDeg, 0, 60, "the plunger's tilt in degrees, 0 to 60")
	within(l, "plunger.contact_radius_mm", s.Plunger.ContactRadius, 0, 1000, "mm, or 0 when unknown")
	within(l, "plunger.push_mm", s.Plunger.PushMM, 0, 0.1, "mm, or 0 when not measured")
	within(l, "plunger.heel_radius_mm", s.Plunger.HeelRadius, 0, 1000, "mm, or 0 when unknown")
	if a := s.Plunger.FaceToMeshDeg; a != nil {
		within(l, "plunger.face_to_mesh_deg", *a, -360, 360, "degrees from -360 to 360, or leave the line out when unknown")
	}
	l.word("adjuster.kind", s.Adjuster.Kind, "threaded", "shims")
	within(l, "adjuster.pitch_mm", s.Adjuster.PitchMM, 0, 10, "the thread's pitch in mm, 0 to 10")
	within(l, "adjuster.notches", s.Adjuster.Notches, 0, 200, "notches in one turn of the adjuster, 0 to 200")
	within(l, "adjuster.backlash_per_notch_mm", s.Adjuster.BacklashPerNotch, -1, 1, "mm of backlash for one notch, or 0 to take it from the geometry")
	for _, size := range s.Adjuster.ShimSizesMM {
		within(l, "adjuster.shim_sizes_mm", size, leastShimMM, mostStackMM, "the thickness of one shim in mm")
	}
	within(l, "adjuster.shims_crown_mm", s.Adjuster.ShimsCrownMM, 0, mostStackMM, "mm of shim on the crown-wheel side, or 0 when unknown")
	within(l, "adjuster.shims_far_mm", s.Adjuster.ShimsFarMM, 0, mostStackMM, "mm of shim on the far side, or 0 when unknown")
	within(l, "gauge.resolution_mm", s.Gauge.ResolutionMM, 0, 1, "one count in mm, such as 0.01, or 0 when unknown")
	within(l, "gauge.mpe_mm", s.Gauge.MPEMM, 0, 1, "maximum permissible error in mm, or 0 when unknown")
	l.word("preload.kind", s.Preload.Kind, "running", "starting")
	l.word("preload.bearings", s.Preload.Bearings, "new", "used")
	within(l, "preload.tool_mpe_pct", s.Preload.ToolMPEPct, 0, 30, "the torque tool's permissible error in per cent, or 0 when unknown")
	within(l, "leak_down.settle_min", s.LeakDown.SettleMin, 0, 120, "minutes, or 0 for 2")
	within(l, "leak_down.test_min", s.LeakDown.TestMin, 0, 1440, "minutes, or 0 for 10")
	within(l, "leak_down.ambient_kpa", s.LeakDown.AmbientKPa, 0, 120, "kPa, or 0 for 101.325")
	l.pressures(s.LeakDown)
	within(l, "engagement.cycles", s.Engagement.Cycles, 0, 1000, "how often the lock is tried, or 0 for 10")
}

func (l *mistakeList) pressures(d LeakDown) {
	l.unit("leak_down.unit", record.Feature{Unit: "kPa", Quantity: "pressure"}, d.Unit)
	within(l, "leak_down.test_pressure", d.TestPressure, 0, 1e4, "the lock's test pressure, or 0 when unknown")
	within(l, "leak_down.max_pressure", d.MaxPressure, 0, 1e4, "the lock's largest pressure, or 0 when unknown")
	if d.MaxPressure > 0 && d.TestPressure > d.MaxPressure {
		l.add("leak_down.test_pressure", "%v is above max_pressure %v", d.TestPressure, d.MaxPressure)
	}
}

func (l *mistakeList) window(i int, w Window, before []Window, stages []string) {
	at := func(key string) string { return fmt.Sprintf("window.#%d.%s", i, key) }
	f := record.FeatureOf(w.Feature)
	if !record.IsMeasured(w.Feature) {
		l.add(at("feature"), "unknown feature %q; want one of %s", w.Feature, strings.Join(record.Features(), ", "))
		return
	}
	if slices.ContainsFunc(before, func(b Window) bool { return b.Feature == w.Feature && b.Stage == w.Stage }) {
		l.add(at("feature"), "%s has a window already", strings.TrimSpace(w.Feature+" "+w.Stage))
	}
	l.word(at("stage"), w.Stage, stages...)
	if w.Stage != "" && !record.IsPreload(w.Feature) {
		l.add(at("stage"), "only a preload has a window of its own in a stage, for its bearings and its seal")
	}
	l.word(at("bearings"), w.Bearings, "new", "used")
	l.unit(at("unit"), f, w.Unit)
	l.unit(at("also_unit"), f, w.AlsoUnit)
	l.word(at("rule"), w.Rule, "all-inside", "tightest-inside", "any-inside")
	for i, v := range []*float64{w.Lower, w.Upper, w.MaxSpread, w.Floor, w.AlsoLower, w.AlsoUpper} {
		key := []string{"lower", "upper", "max_spread", "floor", "also_lower", "also_upper"}[i]
		if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
			l.add(at(key), "%v is no limit; leave it out for none", *v)
			return
		}
		if v != nil && *v < 0 {
			l.add(at(key), "%v is negative", *v)
		}
	}
	switch {
	case w.Lower == nil && w.Upper == nil && w.MaxSpread == nil && w.Floor == nil:
		l.add(at("feature"), "the window of %s has no limit; give lower, upper, max_spread or floor", w.Feature)
	case w.Lower != nil && w.Upper != nil && *w.Lower >= *w.Upper:
		l.add(at("lower"), "lower %v is not below upper %v", *w.Lower, *w.Upper)
	case w.Floor != nil && w.Upper != nil && *w.Floor >= *w.Upper:
		l.add(at("floor"), "floor %v is not below upper %v", *w.Floor, *w.Upper)
	case w.Floor != nil && w.Lower != nil && *w.Floor > *w.Lower:
		l.add(at("floor"), "floor %v is above lower %v: no position may be below the floor, so it is the lower of the two", *w.Floor, *w.Lower)
	}
	l.rule(at, w)
	l.columns(at, w)
}

// rule wants the limits without which a rule lets almost anything pass.
func (l *mistakeList) rule(at func(string) string, w Window) {
	if w.MaxSpread == nil && (w.Rule == analysis.RuleTightestInside || w.Rule == analysis.RuleAnyInside) {
		l.add(at("max_spread"), "missing; the rule %q leaves some positions unjudged and needs the manual's limit for the spread", w.Rule)
	}
	if w.Floor == nil && w.Rule == analysis.RuleAnyInside {
		l.add(at("floor"), "missing; the rule %q needs the least backlash that any position may have", w.Rule)
	}
}

// columns wants a figure of the manual's other column to have its partner and
// its unit, or it would be compared with nothing, or with itself.
func (l *mistakeList) columns(at func(string) string, w Window) {
	for _, c := range []struct {
		name      string
		own, also *float64
	}{{"lower", w.Lower, w.AlsoLower}, {"upper", w.Upper, w.AlsoUpper}} {
		if c.also == nil {
			continue
		}
		if c.own == nil {
			l.add(at("also_"+c.name), "there is no %s to compare it with", c.name)
		}
		if w.AlsoUnit == "" {
			l.add(at("also_unit"), "missing; write the unit of also_%s", c.name)
			return
		}
	}
}

func (l *mistakeList) bolts(i int, b BoltList, before []BoltList) {
	at := func(key string) string { return fmt.Sprintf("bolts.#%d.%s", i, key) }
	f := record.FeatureOf(b.Feature)
	if b.Feature != record.FeatureWheelBolts && b.Feature != record.FeatureCapBolts {
		l.add(at("feature"), "unknown bolts %q; want %s or %s", b.Feature, record.FeatureWheelBolts, record.FeatureCapBolts)
		return
	}
	if slices.ContainsFunc(before, func(o BoltList) bool { return o.Feature == b.Feature }) {
		l.add(at("feature"), "%s is listed already", b.Feature)
	}
	within(l, at("count"), b.Count, 1, 64, "1 to 64 bolts")
	l.unit(at("unit"), f, b.Unit)
	if !(b.Target > 0) || math.IsInf(b.Target, 0) {
		l.add(at("target"), "%v: want the manual's torque, above 0", b.Target)
	}
	l.unit(at("also_unit"), f, b.AlsoUnit)
	within(l, at("also_target"), b.AlsoTarget, 0, 1e6, "the target in the manual's other unit, or 0")
	if b.AlsoTarget > 0 && b.AlsoUnit == "" {
		l.add(at("also_unit"), "missing; write the unit of also_target")
	}
	within(l, at("tolerance_pct"), b.TolerancePct, 0, 50, "per cent, or 0 for 10")
	for _, p := range b.PassesPct {
		within(l, at("passes_pct"), p, 1, 100, "per cent of the target, 1 to 100")
	}
	if !slices.IsSorted(b.PassesPct) {
		l.add(at("passes_pct"), "passes must not come down: %v", b.PassesPct)
	} else if n := len(b.PassesPct); n > 0 && b.PassesPct[n-1] != 100 {
		l.add(at("passes_pct"), "the last pass is %d %%; want 100", b.PassesPct[n-1])
	}
	within(l, at("angle_deg"), b.AngleDeg, 0, 360, "degrees turned on after the last pass, or 0 for torque alone")
	l.sequence(at("sequence"), b)
	within(l, at("open_time_min"), b.OpenTimeMin, 0, 1440, "minutes the locker stays wet, or 0 for 10")
	within(l, at("wrench_mpe_pct"), b.WrenchMPEPct, 0, 30, "the wrench's permissible error in per cent, or 0 for 4")
	within(l, at("adapter_length_mm"), b.AdapterLength, 0, 1000, "mm from the square drive to the bolt, or 0")
	within(l, at("adapter_angle_deg"), b.AdapterAngle, -180, 180, "degrees from the wrench's line, -180 to 180")
	within(l, at("wrench_length_mm"), b.WrenchLength, 0, 3000, "mm, or 0")
	if b.AdapterLength > 0 && b.WrenchLength <= 0 {
		l.add(at("wrench_length_mm"), "missing; an adapter of %v mm cannot be corrected for without it", b.AdapterLength)
	}
}

// sequence wants every bolt exactly once.
func (l *mistakeList) sequence(path string, b BoltList) {
	sorted := slices.Sorted(slices.Values(b.Sequence))
	for k, bolt := range sorted {
		if bolt != k+1 || len(sorted) != b.Count {
			l.add(path, "want each of the %d bolts exactly once, or leave it out for a star", b.Count)
			return
		}
	}
}

// within wants a number between two others; not-a-number is between none.
func within[T int | float64](l *mistakeList, path string, v, low, high T, want string) {
	if !(v >= low && v <= high) {
		l.add(path, "%v: want %s", v, want)
	}
}

func (l *mistakeList) word(path, v string, allowed ...string) {
	if v != "" && !slices.Contains(allowed, v) {
		l.add(path, "%q: want %s", v, strings.Join(allowed, ", "))
	}
}

func (l *mistakeList) unit(path string, f record.Feature, unit string) {
	if _, err := f.Convert(0, unit); err != nil {
		l.add(path, "%v", err)
	}
}
