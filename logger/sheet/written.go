package sheet

import (
	"cmp"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"unicode"

	"crownlog/logger/record"
)

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
