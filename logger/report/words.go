package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/units"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// A Format says how numbers of one quantity are written: with as many decimals
// as the gauge resolves.
type Format struct {
	Unit     string
	Decimals int
}

// inventedBanner stands on every page made from invented data.
const inventedBanner = "Invented demonstration data – no vehicle was measured"

// missing stands for a number that is not known.
const missing = "–"

// figure writes v without its unit, with a minus sign.
func (f Format) figure(v float64) string {
	return strings.Replace(units.Fixed(v, f.Decimals), "-", "−", 1)
}

// signed writes v with its sign.
func (f Format) signed(v float64) string {
	s := f.figure(v)
	return given(v > 0 && strings.Trim(s, "0.") != "", "+") + s
}

// quantity writes v with its unit.
func (f Format) quantity(v float64) string {
	return f.figure(v) + given(!math.IsNaN(v), spaced(f.Unit))
}

// uncertainty writes an uncertainty with two significant digits. One of 0 is not
// known: it would claim a perfect gauge.
func (f Format) uncertainty(u float64) string {
	if !(u > 0) {
		return missing
	}
	u, f.Decimals = gum.RoundU(u)
	return f.figure(u)
}

// doubt is an uncertainty behind a figure, " ± 0.004"; "" where it is not known.
func (f Format) doubt(u float64) string { return given(u > 0, " ± "+f.uncertainty(u)) }

// plusMinus writes a value with its expanded uncertainty, where that is known,
// and its unit, both to the second significant digit of the uncertainty.
// Source: JCGM 100:2008, 7.2.6.
func (f Format) plusMinus(v, u float64) string {
	if math.IsNaN(v) || !(u > 0) {
		return f.quantity(v)
	}
	_, decimals := gum.RoundU(u)
	return Format{f.Unit, decimals}.figure(v) + f.doubt(u) + spaced(f.Unit)
}

// limits writes the entered limits shortly, "0.13 to 0.18 mm", "≤ 0.05 mm".
func (f Format) limits(l gum.Limits) string {
	low, high := math.IsNaN(l.Lower), math.IsNaN(l.Upper)
	switch {
	case low && high:
		return missing
	case low:
		return "≤ " + f.quantity(l.Upper)
	case high:
		return "≥ " + f.quantity(l.Lower)
	}
	return f.figure(l.Lower) + " to " + f.quantity(l.Upper)
}

func harmonicText(h *analysis.Harmonic, f Format) string {
	if h == nil {
		return missing
	}
	return fmt.Sprintf("%s at %.0f°", f.figure(h.Movement()), h.PhaseDeg)
}

func spaced(unit string) string { return given(unit != "", " "+unit) }

// millimetres writes lengths as the sheet's gauge resolves them, and at least to the
// micrometre: a mean over rests resolves more than a count.
func millimetres(s sheet.Sheet) Format {
	return Format{"mm", max(3, feature.DecimalsOf(s.Gauge.ResolutionMM))}
}

// stageTitle is a stage in words.
func stageTitle(stage string) string {
	return cmp.Or(map[string]string{
		record.StageAsFound: "as found", record.StageBench: "on the bench", record.StageSetUp: "set up", record.StageCaps: "caps torqued",
	}[stage], stage)
}

// given is a text that is said where something is known or so.
var given = words.Given

func dropEmpty(texts ...string) []string {
	return slices.DeleteFunc(texts, func(t string) bool { return t == "" })
}

// minute is a time in a table, in UTC.
func minute(t time.Time) string { return t.UTC().Format("2006-01-02 15:04") }

// upperFirst makes a sentence of a phrase.
func upperFirst(s string) string { return feature.Capitalise(s) }

// Each is what f makes of each of a list, which as JSON is never null.
func Each[A, B any](list []A, f func(A) B) []B {
	out := make([]B, 0, len(list))
	for _, a := range list {
		out = append(out, f(a))
	}
	return out
}
