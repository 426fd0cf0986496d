package sheet

import (
	"bytes"
	"cmp"
	_ "embed"
	"encoding/json"
	"errors"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"text/tabwriter"
	"text/template"
	"unicode"

	"crownlog/analysis/setup"
	"crownlog/analysis/units"
	"crownlog/device/strict"
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
	RunoutUnit    string
	RunoutSource  string
	Bolts         []BoltList
}

// NewTOML writes a commented job sheet for a new job. The sheet is sound:
// parameters that no axle can have are refused with what is allowed, each as an
// *strict.Error with its key but without a file, for there is none yet; several are
// joined.
func NewTOML(p Params) ([]byte, error) {
	f := sheetFill{Params: p, RunoutUpper: 0.05, RunoutUnit: "mm", RunoutSource: ownDefault}
	if k, err := units.Convert(1, p.Unit, "mm"); err == nil && p.Unit != "mm" { // 0.002 in, for a manual in inches
		f.RunoutUpper, f.RunoutUnit = units.RoundTo(0.002*25.4/k, 1e-4), p.Unit
	}
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
		return nil, fmt.Errorf("write job.toml: %w", err)
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
		return &strict.Error{Key: "window.upper", Text: err.Error() + ": enter the maker's window"}
	}
	f.Lower, f.Upper, f.Unit = d.Spec.Limits.Lower, d.Spec.Limits.Upper, "mm"
	if d.Spec.MaxSpread > 0 {
		f.MaxSpread = d.Spec.MaxSpread
	}
	f.RunoutUpper, f.RunoutUnit = d.BackFace, "mm"
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

// tomlQuote writes s as a TOML basic string, which is one of JSON but for the delete
// character.
func tomlQuote(s string) string {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	_ = enc.Encode(s) // any string is one
	return strings.ReplaceAll(strings.TrimSpace(b.String()), "\x7f", `\u007F`)
}

// tomlNumber writes v as a TOML float; those that are none are nan and inf.
func tomlNumber(v float64) string { return strings.ToLower(strconv.FormatFloat(v, 'f', -1, 64)) }

// writtenBolts is a ring of bolts in one line: number, torque and unit, thread and
// class.
var writtenBolts = regexp.MustCompile(`^(\d+)(?: *[x×] *| +)([\d.,]+) *([^\d\s]\S*)(?: +(M\S+) +([\d.]+))?$`)

// addBolts takes bolts in one line, "10 98 N·m M12x1.25 10.9", tightened in passes of
// so many per cent; of an empty one nothing.
func (f *sheetFill) addBolts(feature, text string, passes ...int) error {
	m := writtenBolts.FindStringSubmatch(text)
	switch {
	case text == "":
		return nil
	case m == nil:
		return fmt.Errorf("%q: want how many, the torque and its unit, such as 10 98 N·m, and thread and class where they are known: 10 98 N·m M12x1.25 10.9", text)
	}
	count, _ := strconv.Atoi(m[1]) // of digits; one out of range is no number of bolts
	target, err := parseNumber(m[2])
	f.Bolts = append(f.Bolts, BoltList{Feature: feature, Count: count, Target: target, Unit: m[3], Thread: m[4], Class: m[5], PassesPct: passes})
	return err
}

// parseNumber reads a number with a decimal point or comma.
func parseNumber(text string) (float64, error) {
	v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
	if err != nil {
		return 0, fmt.Errorf("%q is not a number", text)
	}
	return v, nil
}

// writtenWindow is a backlash window in one line: one or two figures, and the rest.
var writtenWindow = regexp.MustCompile(`^([\d.,]+)(?: *(?:-|–|to| ) *([\d.,]+))? *(\S*) *(.*)$`)

// leastWheelMM is a length that is no backlash but the diameter of a wheel, mm.
const leastWheelMM = 50

// SetWindow takes a backlash window as it is written in one line, with its unit and
// the page of the manual, "0.13 0.18 mm p. 12". One figure is the upper limit, or, by
// its size, the diameter of the crown wheel, for its usual window.
func (p *Params) SetWindow(text string) error {
	m := writtenWindow.FindStringSubmatch(text)
	if m == nil {
		return fmt.Errorf("%q: want both limits, their unit and the page, such as 0.13 0.18 mm p. 12", text)
	}
	p.Lower, p.Upper, p.WheelDiameterMM, p.Unit, p.Source = 0, 0, 0, m[3], m[4]
	first, err := parseNumber(m[1])
	second, secondErr := parseNumber(cmp.Or(m[2], m[1]))
	mm, unitErr := record.FeatureOf(record.FeatureBacklash).Convert(1, cmp.Or(m[3], "none"))
	switch alone := m[2] == ""; {
	case err != nil || secondErr != nil:
		return cmp.Or(err, secondErr)
	case unitErr != nil:
		return fmt.Errorf("%q is no unit: write mm, in or thou behind the figures", m[3])
	case alone && first*mm >= leastWheelMM:
		p.WheelDiameterMM, p.Unit = first*mm, "mm"
	case alone:
		p.Upper = first
	case !(second > first):
		return fmt.Errorf("%v is not above %v", second, first)
	default:
		p.Lower, p.Upper = first, second
	}
	return nil
}

// SetResolution takes one count of the indicator, "0.01 mm" or "0.0005 in"; without
// a unit it is mm, without anything the usual one.
func (p *Params) SetResolution(text string) (err error) {
	number, unit, _ := strings.Cut(cmp.Or(text, "0.01"), " ")
	if p.ResolutionMM, err = parseNumber(number); err == nil {
		p.ResolutionMM, err = record.FeatureOf(record.FeatureBacklash).Convert(p.ResolutionMM, strings.TrimSpace(unit))
	}
	return err
}

// SetTeeth takes both tooth counts, the pinion's first: "11 43". Of an empty text
// they are unknown.
func (p *Params) SetTeeth(text string) (err error) {
	p.PinionTeeth, p.WheelTeeth = 0, 0
	if text == "" {
		return nil
	}
	if n, _ := fmt.Sscan(strings.NewReplacer(":", " ", "/", " ", ",", " ").Replace(text), &p.PinionTeeth, &p.WheelTeeth); n < 2 {
		return fmt.Errorf("%q: want the teeth of the pinion and of the crown wheel, such as 11 43", text)
	}
	if p.PinionTeeth > p.WheelTeeth { // the wheel has more of them, whichever came first
		p.PinionTeeth, p.WheelTeeth = p.WheelTeeth, p.PinionTeeth
	}
	return nil
}

// SetKind takes what the axle is like in words, "kept adjusters no lock"; what is not
// said is as in UsualParams.
func (p *Params) SetKind(text string) error {
	usual := UsualParams()
	p.Used, p.AdjusterKind, p.Lock = usual.Used, usual.AdjusterKind, usual.Lock
	text = strings.ReplaceAll(strings.ToLower(text), "no lock", "unlocked")
	for _, word := range strings.FieldsFunc(text, func(r rune) bool { return !unicode.IsLetter(r) }) {
		switch word {
		case "kept", "new":
			p.Used = word == "kept"
		case "adjusters":
			p.AdjusterKind = "threaded"
		case "shims":
			p.AdjusterKind = word
		case "lock", "unlocked":
			p.Lock = word == "lock"
		default:
			return fmt.Errorf("%q is none of kept, new, adjusters, shims, lock, no lock", word)
		}
	}
	return nil
}

// vehicleTable is the table of a sheet's vehicle, and the part below its heading.
var vehicleTable = regexp.MustCompile(`(?m)^\[vehicle\].*\n((?:[^\[].*\n|\n)*)`)

// Like is a job sheet for another vehicle: the text of one with v in the place of
// its vehicle, and where it was copied from. An axle or an operator that v leaves
// empty stays. It fails for a sheet that does not parse, and for one whose vehicle is
// not written a line a key.
func Like(text []byte, v Vehicle) ([]byte, error) {
	was, err := Parse("", text)
	if err != nil {
		return nil, err
	}
	v.Axle, v.Operator, v.CopiedFrom = cmp.Or(v.Axle, was.Vehicle.Axle), cmp.Or(v.Operator, was.Vehicle.Operator), was.Vehicle.Label
	like := vehicleTable.ReplaceAllStringFunc(string(text), func(table string) string {
		if was.Vehicle.CopiedFrom == "" {
			table = strings.Replace(table, "\n", "\ncopied_from = \"\"\n", 1)
		}
		for _, own := range [][2]string{{"label", v.Label}, {"job", v.Job}, {"odometer", v.Odometer}, {"axle", v.Axle}, {"operator", v.Operator}, {"copied_from", v.CopiedFrom}} {
			table = regexp.MustCompile(`(?m)^`+own[0]+` *=.*$`).ReplaceAllLiteralString(table, own[0]+" = "+tomlQuote(own[1]))
		}
		return table
	})
	if is, err := Parse("", []byte(like)); err != nil || is.Vehicle != v {
		return nil, errors.Join(errors.New("copy job.toml: write its [vehicle] a line a key"), err)
	}
	return []byte(like), nil
}
