package logger

import "crownlog/analysis"

// LoadSheet reads and checks a job sheet. Mistakes are SheetErrors with file,
// line and column.
func LoadSheet(path string) (Sheet, error) { return Sheet{}, errPending }

// ParseSheet is LoadSheet on text; name stands for the file in errors.
func ParseSheet(name string, text []byte) (Sheet, error) { return Sheet{}, errPending }

// ExampleTOML is a whole invented job sheet with comments that teach.
func ExampleTOML() []byte { return nil }

// ExampleSheet is ExampleTOML parsed.
func ExampleSheet() Sheet { return Sheet{} }

// SheetParams are the few things a new job needs; zero values leave the
// template's comment in place.
type SheetParams struct {
	Vehicle, Job, Axle, Odometer, Operator string
	PinionTeeth, WheelTeeth                int
	WheelDiameterMM                        float64
	Positions                              int
	Used                                   bool
	Lower, Upper                           float64 // backlash window in Unit; both 0: the default for the wheel, marked so
	Unit                                   string
	Source                                 string // page of the manual
	HeelRadiusMM                           float64
	ResolutionMM                           float64
	AdjusterKind                           string
	PitchMM                                float64
	Notches                                int
	Bolts                                  int
	BoltTarget                             float64 // N·m
}

// NewSheetTOML writes a commented job sheet for job new.
func NewSheetTOML(p SheetParams) ([]byte, error) { return nil, errPending }

// A Severity ranks a Finding.
type Severity string

const (
	Doubt   Severity = "doubt"   // probably a misprint or a wrong entry
	Warning Severity = "warning" // will limit what can be decided
	Advice  Severity = "advice"  // worth knowing
)

// A Finding is something about a valid sheet worth a second look.
type Finding struct {
	Severity Severity
	Where    string // "window backlash", "bolts bolt-torque-caps"
	Text     string
}

// Check looks for misprints and for what will limit the verdicts.
func (s Sheet) Check() []Finding { return nil }

// Window is the spec of a feature in the feature's own unit; a RoundSpec with
// NaN limits where the sheet has none.
func (s Sheet) Window(feature string) analysis.RoundSpec { return analysis.RoundSpec{} }

// BoltList finds the bolts of a feature.
func (s Sheet) BoltList(feature string) (BoltList, bool) { return BoltList{}, false }

// PositionList lists the places a round of the feature visits.
func (s Sheet) PositionList(feature string) []Position { return nil }

// StageList is the sheet's stages, or the five of the trade.
func (s Sheet) StageList() []string { return s.Stages }
