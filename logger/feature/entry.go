package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
)

// AllStored answers a value typed after the last position.
const AllStored = "Every position is stored; undo one to measure it again."

// An entry takes one typed value as one capture and goes on.
type entry struct{ Setup }

func (e *entry) Progress() Progress { return plainProgress(0, false) }

// plainProgress is that of a feature without rocks, whose running value may not
// be known.
func plainProgress(estimate float64, known bool) Progress {
	if !known {
		estimate = math.NaN()
	}
	return Progress{Wanted: 1, Estimate: estimate, EstimateU: math.NaN()}
}

func (e *entry) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Typed:
		return e.typed(at, in)
	case Accept:
		return one(Warn("Type the value."))
	case Clicked:
		return e.clicked(at, in)
	}
	return nil
}

// typed takes a value in the unit it names, or else in the manual's. A leak must
// name it: a pressure is the more likely thing to be read off a gauge.
func (e *entry) typed(at At, in Input) []Effect {
	if at.Turn > 0 {
		return e.turned(at, in.Value, in)
	}
	if in.Unit == "" && e.Of.NamesUnit {
		return one(Warn("Name the unit of what you typed: 0.2 kPa/min."))
	}
	v, err := e.Of.Convert(in.Value, cmp.Or(in.Unit, e.TypedUnit()))
	if err == nil && e.Of.Check != nil {
		err = e.Of.Check(e.Of, v)
	}
	if err != nil {
		return one(warnOf(err))
	}
	c := newCapture(v, e.uncertainty(v), 1, record.QualityKeyed, "")
	c.Time, c.Gauge = in.Time, in.Gauge
	effects := []Effect{Captured(c), Advance{}}
	if e.Of.store != nil {
		effects = e.Of.store(e.Setup, at, c)
	}
	if why := e.absurd(at, v); why != "" {
		effects = slices.Insert(effects, 0, Effect(Doubt(e.plainAmount(v)+" is "+why)))
	}
	return effects
}

func (e *entry) Ask(at At) string {
	switch ask := e.Of.ask; {
	case ask != nil:
		return ask(e.Setup, at)
	case math.IsNaN(at.Position.AngleDeg):
		return fmt.Sprintf("Type %s in %s.", e.Of.Title, e.unitWords())
	}
	return fmt.Sprintf("%s. Type the %s in %s.", Capitalise(e.turnHere(at)), e.Of.Title, e.unitWords())
}

// unitWords are the typed unit in a sentence, where "in in" would be read twice.
func (s Setup) unitWords() string {
	if s.TypedUnit() == "in" {
		return "inches"
	}
	return s.TypedUnit()
}

// newCapture is a capture with a value and nothing else of numbers.
func newCapture(value, u float64, n int, quality, note string) record.Capture {
	nan := math.NaN()
	return record.Capture{
		Value: value, U: u, N: n, Low: nan, High: nan, Repeatability: nan, RadiusMM: nan, Quality: quality, Note: note,
	}
}

// notNegative refuses a value below nothing.
func notNegative(f Feature, v float64) error {
	if v < 0 {
		return fmt.Errorf("%g is negative: %s cannot be", v, f.Title)
	}
	return nil
}

// uncertainty is the standard uncertainty of one value v read off the gauge;
// NaN: nothing is known.
func (s Setup) uncertainty(v float64) float64 {
	if own := s.Of.uncertainty; own != nil {
		return own(s, v)
	}
	return s.countUncertainty(1)
}

// countUncertainty is that of the difference of so many readings: half a count
// either way for each, and of a length the gauge's permissible error; NaN when
// neither is known. Source: JCGM 100:2008, 4.3.7 and F.2.2.1.
func (s Setup) countUncertainty(readings float64) float64 {
	d := gum.Resolution(s.Resolution)
	u2 := readings * d * d
	if s.Of.Quantity == "length" {
		mpe := gum.Rectangular(s.Sheet.Gauge.MPEMM)
		u2 += mpe * mpe
	}
	if u2 == 0 {
		return math.NaN()
	}
	return math.Sqrt(u2)
}

// Undecidable says before a round that the gauge is too coarse for the window;
// "" if it is not.
func (s Setup) Undecidable() string {
	ratio, ok := gum.Capability(s.Spec.Limits, s.uncertainty(0))
	if ok || s.Of.Quantity != "length" || s.Resolution <= 0 || !s.Spec.Limits.Any() {
		return ""
	}
	return fmt.Sprintf("With this gauge the window cannot be decided. It is %.1f times as wide as the uncertainty; 3.92 times is needed. Use a finer gauge, or nudge the base a little between rocks.", ratio)
}

// A keyable takes typed values beside what its gauge measures.
type keyable struct {
	Measurer
	typed *entry
}

func (k keyable) Step(at At, in Input) []Effect {
	if in.Kind == Typed || in.Kind == Clicked {
		return k.typed.Step(at, in)
	}
	return k.Measurer.Step(at, in)
}

// A typed value so many times the window's upper limit, or so many times the
// target of a bolt, is asked for once more before it is stored.
const absurdValue, absurdTorque = 3.0, 2.0

// absurd says how far off a typed value is; "" if it is not.
func (s Setup) absurd(at At, v float64) string {
	f := s.Of
	if f.doubt != nil {
		return f.doubt(s, at, v)
	}
	upper := s.Spec.Limits.Upper
	if upper > 0 && v > absurdValue*upper {
		return fmt.Sprintf("%.3g times the limit of %s", v/upper, s.plainAmount(upper))
	}
	if usual, ok := usually[f.Name]; ok && (v < usual[0] || v > usual[1]) {
		return fmt.Sprintf("not usual, which is %s to %s", s.plainAmount(usual[0]), s.plainAmount(usual[1]))
	}
	return ""
}

// usually is from where to where a figure lies, whatever the sheet says, with
// room: one beyond it is more likely that of another step. In the feature's unit.
// Common practice, no source; truck axles are within.
var usually = map[string][2]float64{
	record.FeatureBacklash: {0, 1}, record.FeaturePreloadPinion: {0.05, 20}, record.FeaturePreloadTotal: {0.05, 20},
	record.FeatureOilFill: {0.3, 30},
}

var errMove = errors.New("a move is typed as -1, as far out 1, or as crown in 1 far out 0.5; without a unit; behind it not seated or reversed")

// ParseMove reads how the adjusters or the shims were moved: the crown wheel
// towards the pinion by a number with its sign, both sides alike, or what each
// side did, and whether it did not seat or was turned back on the way.
//
//	1   -0.5   far out 1   crown in 1 far out 0.5, not seated
//
// It has no Unit: see sheet.Sheet.MoveUnit.
func ParseMove(text string) (record.Move, error) {
	text = strings.ToLower(text)
	m := record.Move{Unseated: strings.Contains(text, "not seated"), Reversed: strings.Contains(text, "reversed")}
	text = strings.NewReplacer("\u2212", "-", "crown-wheel", "crown", "side", "", "not seated", "", "reversed", "").Replace(text)
	to := map[string]*float64{"": &m.Amount, "crown": &m.Near, "far": &m.Far}
	for text = strings.Trim(text, " ,"); text != ""; {
		part := movePart.FindStringSubmatch(text)
		if part == nil {
			return record.Move{}, errMove
		}
		side, way := to[part[1]], part[2]
		v, _, err := parseKeyed(strings.TrimRight(part[3], ","), 0)
		if err != nil || *side != 0 || way != "" && (v < 0 || part[1] == "") {
			return record.Move{}, errMove
		}
		if *side = v; way == "out" {
			*side = -v
		}
		text = text[len(part[0]):]
	}
	if apart := m.Near != 0 || m.Far != 0; apart == (m.Amount != 0) { // both or neither
		return record.Move{}, errMove
	}
	return m, nil
}

// movePart is one number of a move: of which side, which way, how much.
var movePart = regexp.MustCompile(`^(?:(crown|far)\s+)?(?:(in|out)\s+)?([-+]?[\d.,/]+)[\s,]*`)
