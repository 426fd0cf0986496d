package sheet

import (
	"bytes"
	"cmp"
	_ "embed"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"text/template"
	"unicode/utf8"

	"crownlog/analysis/setup"
)

//go:embed example.toml
var exampleTOML string

//go:embed sheet.toml.tmpl
var sheetTemplate string

var sheetTmpl = template.Must(template.New("job.toml").Funcs(template.FuncMap{
	"quote":  tomlQuote,
	"number": tomlNumber,
}).Parse(sheetTemplate))

// Params are the few things a new job needs. What is left zero is written
// as unknown or with the trade's default, and said so in the sheet.
type Params struct {
	Vehicle, Job, Axle, Odometer, Operator string
	PinionTeeth, WheelTeeth                int
	WheelDiameterMM                        float64
	Positions                              int
	Used                                   bool
	Lower, Upper                           float64 // backlash window in Unit; both 0: the default for the wheel, marked so
	MaxSpread                              float64 // 0: none
	Unit                                   string  // of the backlash window; "": mm
	Source                                 string  // page of the manual
	Measured, Spec                         string  // plunger convention; "": unknown
	HeelRadiusMM                           float64
	ResolutionMM                           float64 // 0: 0.01
	AdjusterKind                           string  // "": threaded
	PitchMM                                float64
	Notches                                int
	Bolts                                  int     // crown wheel bolts; 0: left out
	BoltTarget                             float64 // in BoltUnit
	BoltUnit                               string  // "": N·m
	Thread, Class                          string
	CapBolts                               int // 0: left out
	CapTarget                              float64
}

// ownDefault is the source of a limit that nobody took from a manual. A handbook
// that cannot be looked up would be none.
const ownDefault = "crownlog's own default, no manual"

// sheetFill is what the template sees.
type sheetFill struct {
	Params
	DefaultWindow bool
	RunoutUpper   float64
	RunoutSource  string
}

// NewTOML writes a commented job sheet for a new job. The sheet is sound:
// parameters that no axle can have are refused with what is allowed, each as an
// *Error with its key but without a file, for there is none yet; several are
// joined.
func NewTOML(p Params) ([]byte, error) {
	f := sheetFill{Params: p, RunoutUpper: 0.05, RunoutSource: ownDefault}
	f.Unit = cmp.Or(p.Unit, "mm")
	f.BoltUnit = cmp.Or(p.BoltUnit, "N·m")
	f.Measured, f.Spec = cmp.Or(p.Measured, "unknown"), cmp.Or(p.Spec, "unknown")
	f.AdjusterKind = cmp.Or(p.AdjusterKind, "threaded")
	f.ResolutionMM = cmp.Or(p.ResolutionMM, 0.01)
	if p.Lower == 0 && p.Upper == 0 {
		if err := f.defaultWindow(); err != nil {
			return nil, err
		}
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
		return errors.New("a new job needs the backlash window, or the wheel's diameter for a default one")
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

// commentColumn is where the comments behind the values stand.
const commentColumn = 30

// alignComments sets the comments, marked by a tab in the template, below each
// other. Values hold no tab: tomlQuote escapes it.
func alignComments(text string) []byte {
	var b bytes.Buffer
	for line := range strings.Lines(text) {
		value, comment, found := strings.Cut(line, "\t#")
		if found {
			width := max(commentColumn, utf8.RuneCountInString(value)+1)
			value = fmt.Sprintf("%-*s#%s", width, value, comment)
		}
		b.WriteString(value)
	}
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
