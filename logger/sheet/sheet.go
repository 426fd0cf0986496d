// Package sheet is the job sheet, job.toml: what a fitter enters of the axle, the
// manual's figures and the tools. It reads a sheet strictly and names every
// mistake with its place (Parse), doubts what is sound but odd (Check), writes a
// new sheet with comments that teach (NewTOML), and gives the figures in the units
// and the plunger's convention that measurements have (Window, Convert).
package sheet

import (
	"cmp"

	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A Sheet is the job sheet, job.toml: everything about the axle and the tools
// that does not change from round to round. Specs stay in the units printed in
// the manual; Window and BoltList convert.
type Sheet struct {
	Schema    int        `toml:"schema"`             // 1 or 2; a newer one is refused
	Invented  bool       `toml:"invented,omitempty"` // demo or example data, and every output says so
	Vehicle   Vehicle    `toml:"vehicle"`
	GearSet   GearSet    `toml:"gear_set"`
	Plunger   Plunger    `toml:"plunger"`
	Adjuster  Adjuster   `toml:"adjuster"`
	Gauge     GaugeData  `toml:"gauge"`
	Positions int        `toml:"positions"` // places around the wheel; 0: by whole pinion turns
	Stages    []string   `toml:"stages"`
	Windows   []Window   `toml:"window"`
	Bolts     []BoltList `toml:"bolts"`
	Checks    []Check    `toml:"check"`
	Preload   Preload    `toml:"preload"`
	Tools     []Tool     `toml:"tool"`

	LeakDown   LeakDown   `toml:"leak_down"`
	Engagement Engagement `toml:"engagement"`
}

// Vehicle says whose file this is.
type Vehicle struct {
	Label    string `toml:"label" name:"vehicle" help:"Vehicle: registration, fleet number or any name."` // registration, fleet number or any name of the fitter's own
	Job      string `toml:"job" help:"Job number or short name."`                                         // job number or short name
	Axle     string `toml:"axle" help:"front, rear, ..."`                                                 // "front", "rear", ...
	Odometer string `toml:"odometer" help:"As read, with its unit."`                                      // as read, with its unit
	Operator string `toml:"operator" help:"Who measures; may stay empty."`                                // optional

	CopiedFrom string `toml:"copied_from,omitempty" kong:"-"` // the vehicle whose windows and torques these are, until they are confirmed for this one

	CheckedBy    string `toml:"checked_by" kong:"-"` // who signs beside the operator; optional
	VIN          string `toml:"vin" kong:"-"`        // as stamped on the vehicle; optional
	CentreSerial string `toml:"centre_serial" kong:"-"`
}

// A Tool is a gauge or a wrench as its certificate knows it. Nothing is worked out
// from it: it stands on the report.
type Tool struct {
	Name        string `toml:"name" json:"name"`
	Serial      string `toml:"serial" json:"serial"`
	Certificate string `toml:"certificate" json:"certificate"`
	Due         string `toml:"due" json:"due"` // when it is to be calibrated again
}

// GearSet describes the crown wheel and pinion.
type GearSet struct {
	PinionTeeth      int     `toml:"pinion_teeth"`
	WheelTeeth       int     `toml:"wheel_teeth"`
	WheelDiameter    float64 `toml:"wheel_diameter_mm"`
	PressureAngleDeg float64 `toml:"pressure_angle_deg"`
	SpiralAngleDeg   float64 `toml:"spiral_angle_deg"`
	ToothForm        string  `toml:"tooth_form"`   // "tapered", "uniform" or "unknown"
	PinionDepth      string  `toml:"pinion_depth"` // "locked" (not being moved) or "free"
	Used             bool    `toml:"used"`         // a used set aims at its as-found backlash
	Aim              string  `toml:"aim"`          // of a used set: "as-found" or "window"; "": as found inside the window, beyond it not decided
}

// What a used gear set may aim at.
const (
	AimAsFound = "as-found"
	AimWindow  = "window"
)

// Plunger says how the indicator meets the tooth.
type Plunger struct {
	Measured      string  `toml:"measured"` // "normal", "transverse" or "unknown"
	Spec          string  `toml:"spec"`     // which of them the manual's window means
	CosineDeg     float64 `toml:"cosine_deg"`
	ContactRadius float64 `toml:"contact_radius_mm"`
	HeelRadius    float64 `toml:"heel_radius_mm"` // where the manual's figure holds; 0: unknown
	PushMM        float64 `toml:"push_mm"`        // what the push of the hand may add, both stops together, as gauge hand measures it; 0: assumed

	// FaceToMeshDeg is how far the wheel turns, in the order of the positions,
	// to bring the spot under the back face's indicator to the mesh; 0: both
	// are at the same place, nil: unknown.
	FaceToMeshDeg *float64 `toml:"face_to_mesh_deg,omitempty"`
}

// Adjuster says how the crown wheel is moved sideways.
type Adjuster struct {
	Kind             string  `toml:"kind"` // "threaded" or "shims"
	PitchMM          float64 `toml:"pitch_mm"`
	Notches          int     `toml:"notches"`
	BacklashPerNotch float64 `toml:"backlash_per_notch_mm"`  // 0: from geometry
	HalfNotches      *bool   `toml:"half_notches,omitempty"` // whether the lock turned over holds half a notch; nil: not said

	// The sizes of shim in the box, and what stands on each side before the first
	// move, in mm; nil or 0: unknown.
	ShimSizesMM  []float64 `toml:"shim_sizes_mm,omitempty"`
	ShimsCrownMM float64   `toml:"shims_crown_mm,omitempty"`
	ShimsFarMM   float64   `toml:"shims_far_mm,omitempty"`
}

// GaugeData is what is known of the indicator.
type GaugeData struct {
	Label        string  `toml:"label"`
	Profile      string  `toml:"profile"`
	ResolutionMM float64 `toml:"resolution_mm"`
	MPEMM        float64 `toml:"mpe_mm"`     // maximum permissible error, half-width, 0: unknown
	Calibrated   string  `toml:"calibrated"` // date as printed on the certificate
}

// A Window is the spec of one feature, as printed.
type Window struct {
	Feature   string   `toml:"feature"`
	Unit      string   `toml:"unit"`
	Lower     *float64 `toml:"lower"`
	Upper     *float64 `toml:"upper"`
	MaxSpread *float64 `toml:"max_spread"`
	Floor     *float64 `toml:"floor"`
	Rule      string   `toml:"rule"`            // "all-inside" (default), "tightest-inside", "any-inside"
	Source    string   `toml:"source"`          // page of the manual
	Stage     string   `toml:"stage,omitempty"` // the one it is for; "": all that have none of their own

	// Of a preload, where it differs from [preload].
	Bearings string `toml:"bearings,omitempty"`
	WithSeal *bool  `toml:"with_seal,omitempty"`

	// The same limits in the manual's other column, if it prints two; only
	// compared, to find misprints.
	AlsoUnit  string   `toml:"also_unit"`
	AlsoLower *float64 `toml:"also_lower"`
	AlsoUpper *float64 `toml:"also_upper"`

	Default bool `toml:"default,omitempty"` // offered by crownlog, to be confirmed by the maker's manual
}

// A Check is an entry of the list that is gone through at the end of a stage: what
// nobody measures, but somebody sees to and ticks.
type Check struct {
	Name     string `toml:"name"`     // by which it is ticked
	Stage    string `toml:"stage"`    // at its end; what comes after it waits where it is required
	What     string `toml:"what"`     // that is so, "bearing caps marked left and right"
	Required bool   `toml:"required"` // the job waits for it
}

// CheckCopied is the name of the check that stands for the windows and bolts that
// were copied from the sheet of another vehicle.
const CheckCopied = "windows-confirmed"

// A BoltList is one circle of bolts or set of caps.
type BoltList struct {
	Feature       string  `toml:"feature"` // bolt-torque-crown-wheel or bolt-torque-caps
	Count         int     `toml:"count"`
	Unit          string  `toml:"unit"`
	Target        float64 `toml:"target"`
	TolerancePct  float64 `toml:"tolerance_pct"` // 0: 10 %
	PassesPct     []int   `toml:"passes_pct"`    // empty: 30, 60, 100
	AngleDeg      float64 `toml:"angle_deg"`     // turned on by so much after the last of the passes; 0: by torque alone
	Sequence      []int   `toml:"sequence"`      // empty: star
	Thread        string  `toml:"thread"`        // "M10x1.25"
	Class         string  `toml:"class"`         // "10.9"
	LeftHand      bool    `toml:"left_hand"`
	OneTime       bool    `toml:"one_time"`
	ThreadLocker  bool    `toml:"thread_locker"`
	OpenTimeMin   float64 `toml:"open_time_min"` // 0: 10
	AdapterLength float64 `toml:"adapter_length_mm"`
	AdapterAngle  float64 `toml:"adapter_angle_deg"`
	WrenchLength  float64 `toml:"wrench_length_mm"`
	AlsoTarget    float64 `toml:"also_target"` // the target in the manual's other column; only compared
	AlsoUnit      string  `toml:"also_unit"`
	WrenchMPEPct  float64 `toml:"wrench_mpe_pct"` // maximum permissible error of the wrench in per cent, half-width; 0: 4, for a target up to 10 N·m 6
}

// Preload says which torque the manual means.
type Preload struct {
	Kind     string `toml:"kind"`                // "running" or "starting"
	WithSeal *bool  `toml:"with_seal,omitempty"` // whether the manual's figure holds with the seal fitted; nil: not said
	Bearings string `toml:"bearings,omitempty"`  // which it is for, "new" or "used"; "": not said

	// ToolMPEPct is the permissible error of the wrench, or of the spring scale
	// with its arm, in per cent, half-width. 0: unknown; then a connected wrench
	// counts with what ISO 6789-1 permits, and a keyed torque has no uncertainty.
	ToolMPEPct float64 `toml:"tool_mpe_pct"`
}

// PreloadOf says which torque the manual's figure for a feature means.
func (s Sheet) PreloadOf(name string) Preload {
	p := s.Preload
	w, _ := s.Printed(name)
	p.WithSeal, p.Bearings = cmp.Or(w.WithSeal, p.WithSeal), cmp.Or(w.Bearings, p.Bearings)
	return p
}

// Words says which torque it is, "starting torque, used bearings, with the seal"; of
// the bearings and the seal nothing where that is not known.
func (p Preload) Words() string {
	with, known := p.WithSeal != nil && *p.WithSeal, p.WithSeal != nil
	return cmp.Or(p.Kind, "running") + " torque" + words.Given(p.Bearings != "", ", "+p.Bearings+" bearings") +
		words.Given(with, ", with the seal") + words.Given(known && !with, ", without the seal")
}

// LeakDown says how the air test is run.
type LeakDown struct {
	SettleMin  float64 `toml:"settle_min"`  // 0: 2
	TestMin    float64 `toml:"test_min"`    // 0: 10
	AmbientKPa float64 `toml:"ambient_kpa"` // 0: 101.325

	// The lock's maker's pressures, in Unit. At a lower one the test proves
	// nothing, a higher one may burst a seal. 0: not entered.
	TestPressure float64 `toml:"test_pressure"`
	MaxPressure  float64 `toml:"max_pressure"`
	Unit         string  `toml:"unit"` // "": kPa
}

// PressuresKPa are the test pressure and the largest allowed in kPa; 0: not
// entered.
func (l LeakDown) PressuresKPa() (test, most float64) {
	unit := cmp.Or(l.Unit, "kPa")
	test, _ = units.Convert(l.TestPressure, unit, "kPa") // the unit is one of the sheet's
	most, _ = units.Convert(l.MaxPressure, unit, "kPa")
	return test, most
}

// Words is one of the pressures as the sheet has it, "690 kPa".
func (l LeakDown) Words(pressure float64) string {
	return units.Exact(pressure) + " " + cmp.Or(l.Unit, "kPa")
}

// Times are the settling and the test in seconds.
func (l LeakDown) Times() (settle, test float64) {
	return cmp.Or(l.SettleMin, 2) * 60, cmp.Or(l.TestMin, 10) * 60
}

// Engagement says how the lock is tried.
type Engagement struct {
	Cycles int `toml:"cycles"` // 0: 10
}

// HasLock reports whether the sheet says anything of an air lock: then its line
// and its engagement are tested before the axle is closed up.
func (s Sheet) HasLock() bool {
	_, leak := s.Printed(record.FeatureLeakDown)
	_, time := s.Printed(record.FeatureEngagement)
	return leak || time || s.LeakDown != LeakDown{} || s.Engagement != Engagement{}
}

// StageList is the sheet's stages, or the five of the trade.
func (s Sheet) StageList() []string {
	if len(s.Stages) > 0 {
		return s.Stages
	}
	return []string{record.StageAsFound, record.StageBench, record.StageSetUp, record.StageCaps, record.StageFinal}
}
