package sheet

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"text/tabwriter"
	"text/template"

	"crownlog/analysis/setup"
	"crownlog/logger/record"
)

//go:embed example.toml
var exampleTOML string

//go:embed sheet.toml.tmpl
var sheetTemplate string

var sheetTmpl = template.Must(template.New("job.toml").Funcs(template.FuncMap{
	"quote":  tomlQuote,
	"number": tomlNumber,
}).Parse(sheetTemplate))

// Params are the few things a new job needs, with what each of them is. What is
// left zero is written as unknown or with the trade's default, and said so in the
// sheet.
type Params struct {
	Vehicle
	PinionTeeth     int     `help:"Teeth of the pinion; 0: unknown."`
	WheelTeeth      int     `help:"Teeth of the crown wheel; 0: unknown."`
	WheelDiameterMM float64 `name:"wheel-diameter" help:"Outside diameter of the crown wheel in mm."`
	HeelRadiusMM    float64 `name:"heel-radius" help:"Radius in mm at which the manual's backlash holds."`
	Positions       int     `help:"Places to measure around the wheel; 0: by whole pinion turns."`
	Used            bool    `help:"The gears were run together before and aim at their as-found backlash; --no-used: a new set." default:"true" negatable:""`
	Lower           float64 `help:"Lower limit of the backlash window, in --unit."`
	Upper           float64 `help:"Upper limit of the backlash window, in --unit; without both: the usual window for the wheel's diameter, marked so."`
	Unit            string  `help:"Unit of the window as printed in the manual." default:"mm"`
	Source          string  `help:"Page of the manual the window is from."`
	ResolutionMM    float64 `name:"resolution" help:"Resolution of the indicator in mm." default:"0.01"`
	AdjusterKind    string  `name:"adjuster" help:"threaded or shims." enum:"threaded,shims" default:"threaded"`
	PitchMM         float64 `name:"pitch" help:"Thread pitch of the adjusters in mm."`
	Notches         int     `help:"Notches of an adjuster."`
	Lock            bool    `help:"There is an air lock, which is tried before closing up; --no-lock: none." default:"true" negatable:""`
	WheelBolts      string  `name:"bolts" help:"Bolts of the crown wheel: how many, the torque and its unit, with thread and class where they are known: \"10 98 N·m M12x1.25 10.9\"."`
	CapBolts        string  `name:"caps" help:"Bolts of the bearing caps, in the same way."`
}

// UsualParams are those of a job of which nothing is known yet: kept gears, threaded
// adjusters and a lock.
func UsualParams() Params {
	return Params{Used: true, Lock: true, Unit: "mm", ResolutionMM: 0.01, AdjusterKind: "threaded"}
}

// ownDefault is the source of a limit that nobody took from a manual. A handbook
// that cannot be looked up would be none.
const ownDefault = "crownlog's own default, no manual"

// sheetFill is what the template sees.
type sheetFill struct {
	Params
	DefaultWindow bool
	MaxSpread     float64 // 0: none
	RunoutUpper   float64
	RunoutSource  string
	Bolts         []BoltList
}

// NewTOML writes a commented job sheet for a new job. The sheet is sound:
// parameters that no axle can have are refused with what is allowed, each as an
// *Error with its key but without a file, for there is none yet; several are
// joined.
func NewTOML(p Params) ([]byte, error) {
	f := sheetFill{Params: p, RunoutUpper: 0.05, RunoutSource: ownDefault}
	if p.Lower == 0 && p.Upper == 0 {
		if err := f.defaultWindow(); err != nil {
			return nil, err
		}
	}
	err := errors.Join(f.addBolts(record.FeatureWheelBolts, p.WheelBolts, 30, 60, 100), f.addBolts(record.FeatureCapBolts, p.CapBolts, 50, 100))
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	if err := sheetTmpl.Execute(&b, f); err != nil {
		return nil, fmt.Errorf("write job sheet: %w", err)
	}
	text := alignComments(b.String())
	if _, err := Parse("", text); err != nil {
		return nil, err
	}
	return text, nil
}

// defaultWindow offers the window that is usual for the wheel's size.
func (f *sheetFill) defaultWindow() error {
	if f.WheelDiameterMM == 0 {
		return errors.New("a new job needs the backlash window (--lower, --upper), or the wheel's diameter for a default one (--wheel-diameter)")
	}
	d, err := setup.DefaultWindow(f.WheelDiameterMM)
	if err != nil {
		return &Error{Key: "window.upper", Text: err.Error() + ": enter the maker's window"}
	}
	f.Lower, f.Upper, f.Unit = d.Spec.Limits.Lower, d.Spec.Limits.Upper, "mm"
	if d.Spec.MaxSpread > 0 {
		f.MaxSpread = d.Spec.MaxSpread
	}
	f.RunoutUpper = d.BackFace
	f.Source, f.DefaultWindow = ownDefault, true
	return nil
}

// alignComments sets the comments, marked by a tab in the template, below each
// other. Values hold no tab: tomlQuote escapes it.
func alignComments(text string) []byte {
	var b bytes.Buffer
	w := tabwriter.NewWriter(&b, 0, 0, 2, ' ', 0)
	_, _ = w.Write([]byte(text))
	w.Flush()
	return b.Bytes()
}

// ExampleTOML is a whole job sheet with comments that teach. Its vehicle and
// figures are invented, and it says so.
func ExampleTOML() []byte { return []byte(exampleTOML) }

// Example is ExampleTOML parsed.
func Example() Sheet {
	s, err := Parse("example", ExampleTOML())
	if err != nil {
		panic(err) // it is part of the program
	}
	return s
}

// tomlQuote writes s as a TOML basic string.
func tomlQuote(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteString(`\` + string(r))
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	return `"` + b.String() + `"`
}

// tomlNumber writes v as a TOML float; those that are none are nan and inf.
func tomlNumber(v float64) string { return strings.ToLower(strconv.FormatFloat(v, 'f', -1, 64)) }
