package feature

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/record"
)

// faultQuality is the quality of a capture with such faults.
func faultQuality(faults []analysis.Fault) string {
	if len(faults) == 0 {
		return record.QualityOK
	}
	words := make([]string, len(faults))
	for i, f := range faults {
		words[i] = string(f)
	}
	return strings.Join(words, "+")
}

// numberWords say small counts as a fitter does.
var numberWords = []string{"no times", "once", "twice", "three times", "four times", "five times", "six times"}

func times(n int) string {
	if n >= 0 && n < len(numberWords) {
		return numberWords[n]
	}
	return fmt.Sprintf("%d times", n)
}

// Capitalise makes a sentence of a phrase.
func Capitalise(s string) string {
	_, first := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:first]) + s[first:]
}

// AtAngle names a position on the wheel: "position 4, 135 degrees (tooth 17)".
func AtAngle(p record.Position) string {
	if math.IsNaN(p.AngleDeg) {
		return p.Label
	}
	return fmt.Sprintf("position %d, %.0f degrees", p.Index, p.AngleDeg) + atTooth(p)
}

// atTooth is what a hand finds on the wheel without an angle: " (tooth 17)".
func atTooth(p record.Position) string {
	if p.Tooth == 0 {
		return ""
	}
	return fmt.Sprintf(" (tooth %d)", p.Tooth)
}

// Place names a position in two words: "position 4", "bolt 7".
func Place(p record.Position) string {
	if math.IsNaN(p.AngleDeg) || !strings.HasSuffix(p.Label, "°") {
		return p.Label
	}
	return fmt.Sprintf("position %d", p.Index)
}

// turnHere says how the wheel is brought to the place of the current visit.
func (s Setup) turnHere(at At) string { return s.turnTo(at.From, at.Visit) }

// turnTo says how the wheel is brought from one place to another: "turn to
// position 4, 135 degrees", or by turns of the pinion where the positions
// go by them and the place before is known.
func (s Setup) turnTo(from, to Visit) string {
	turns, way := 0.0, ""
	for i := min(from.Place, to.Place) + 1; i <= max(from.Place, to.Place); i++ {
		turns += s.Positions[i].PinionTurns
	}
	if to.Place < from.Place {
		way = " back"
	}
	far := units.Exact(turns) + " turns"
	switch turns {
	case 0:
		return "turn to " + AtAngle(to.Position)
	case 0.5:
		far = "half a turn"
	case 1:
		far = "one whole turn"
	case math.Trunc(turns):
		far = units.Exact(turns) + " whole turns"
	}
	return fmt.Sprintf("turn the pinion%s %s, to position %d", way, far, to.Position.Index) + atTooth(to.Position)
}

// Decimals is how many to show where the gauge does not say.
func (f Feature) Decimals() int {
	return cmp.Or(map[string]int{"length": 3, "torque": 1, "leak": 1}[f.Quantity], 2)
}

// Amount writes a value with the unit and the decimals of the gauge, one more
// for length: a mean over dwells resolves more than one count. A rate over minutes
// is shown finer than a gauge that counts in whole kPa.
func (f Feature) Amount(v float64, decimals int) string {
	if math.IsNaN(v) {
		return "no value"
	}
	least := map[string]int{"length": 3, "leak": 2}[f.Quantity]
	return f.withUnit(strconv.FormatFloat(v, 'f', max(decimals, least), 64))
}

// WithDoubt writes the value of a capture with its expanded uncertainty, both to
// the second significant digit of that. Source: JCGM 100:2008, 7.2.6.
func (f Feature) WithDoubt(c record.Capture, decimals int) string {
	if !(c.U > 0) {
		return f.Amount(c.Value, decimals)
	}
	u, decimals := gum.RoundU(gum.Coverage * c.U)
	return f.withUnit(strconv.FormatFloat(c.Value, 'f', decimals, 64) + " ± " + strconv.FormatFloat(u, 'f', decimals, 64))
}

// plainAmount is a value as it was typed, in the manual's unit.
func (s Setup) plainAmount(v float64) string {
	unit := s.Sheet.UnitFor(s.Of.Name)
	if x, err := units.Convert(v, s.Of.Unit, unit); err == nil {
		return units.Exact(units.RoundTo(x, 1e-4)) + " " + unit
	}
	return s.Of.withUnit(units.Exact(units.RoundTo(v, 1e-4)))
}

func (f Feature) withUnit(number string) string { return strings.TrimSuffix(number+" "+f.Unit, " ") }

// InManual writes v, in the feature's unit, as the manual does: a length in its unit
// alone, what a wrench is set by in both.
func (s Setup) InManual(v float64, decimals int) string {
	f, unit := s.Of, s.Sheet.UnitFor(s.Of.Name)
	if f.Quantity == "length" && unit != f.Unit {
		return s.Sheet.Length(v)
	}
	own := f.Amount(v, decimals)
	if x, err := units.Convert(v, f.Unit, unit); err == nil && unit != f.Unit {
		return fmt.Sprintf("%s %s (%s)", units.Exact(units.RoundTo(x, 0.1)), unit, own)
	}
	return own
}

// TypedUnit is the unit of a typed value that names none.
func (s Setup) TypedUnit() string {
	if s.Keyed && s.Unit != "" {
		return s.Unit
	}
	return s.Sheet.UnitFor(s.Of.Name)
}

// DecimalsOf is how many decimals a count of size d needs, at most 6.
func DecimalsOf(d float64) int {
	_, frac, _ := strings.Cut(units.Exact(d), ".")
	return min(len(frac), 6)
}

// lastDigit is what one of the last digit of a typed value is, as far as the
// value still shows it.
func lastDigit(v float64) float64 { return math.Pow10(-DecimalsOf(v)) }
