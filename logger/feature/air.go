package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"crownlog/analysis/leak"
	"crownlog/analysis/units"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A typedAir is an air test with a plain pressure gauge: the pressure at the
// start, the pressure at the end and the time between are typed, and the
// temperatures where they were taken. The time completes the test.
type typedAir struct {
	*entry
	pressures []typedPressure
	celsius   []float64
	digit     float64 // last one of the temperatures, °C; 0: none typed
	unit      string  // of the first pressure
	minutes   float64 // between the two pressures; 0: not typed yet
}

// A typedPressure is a pressure with what one of its last digits is, in kPa.
type typedPressure struct{ kPa, digit float64 }

func (m *typedAir) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Enter, Reset:
		*m = typedAir{entry: m.entry}
	case Typed:
		return m.part(at, in)
	case Accept:
		return captureOf(m.test())
	case End:
		return m.entry.Step(at, in)
	}
	return nil
}

// part takes the next part of the test. A first number without a unit could be
// anything and is asked for again.
func (m *typedAir) part(at At, in Input) []Effect {
	if _, rate := record.OwnUnits["leak"][in.Unit]; rate {
		return m.entry.typed(at, in)
	}
	if err := m.take(in.Value, in.Unit); err != nil {
		return one(warnOf(err))
	}
	if len(m.pressures) < 2 || m.minutes == 0 {
		return one(Clear{})
	}
	c, err := m.test()
	if err != nil {
		*m = typedAir{entry: m.entry}
		return []Effect{Clear{}, warnOf(err) + " Type the test anew."}
	}
	c.Time, c.Gauge = in.Time, in.Gauge
	return []Effect{Clear{}, Captured(c)}
}

func (m *typedAir) take(v float64, unit string) error {
	switch {
	case unit != "":
	case len(m.pressures) == 0:
		return fmt.Errorf("%g of what? Type the pressure with its unit: %g kPa, bar or psi", v, v)
	case len(m.pressures) == 1:
		unit = m.unit
	default:
		unit = "min"
	}
	if k, ok := record.OwnUnits["time"][unit]; ok {
		if !(v > 0) {
			return fmt.Errorf("%g %s is no time between two readings", v, unit)
		}
		m.minutes = v * k / record.OwnUnits["time"]["min"]
		return nil
	}
	switch quantity, _, _ := units.Canonical(unit); {
	case quantity == "temperature" && len(m.celsius) < 2:
		m.celsius = append(m.celsius, v)
		m.digit = math.Min(cmp.Or(m.digit, 1), lastDigit(v))
		return nil
	case quantity != "pressure":
		return fmt.Errorf("unit %q: want kPa, bar or psi, and min", unit)
	case len(m.pressures) == 2:
		return errors.New("both pressures are there: type the minutes between them")
	}
	kPa, err := units.Convert(v, unit, "kPa")
	if err != nil {
		return err
	}
	if len(m.pressures) == 0 && !(kPa > 0) {
		return fmt.Errorf("%g %s is no pressure to begin with", v, unit)
	}
	digit, err := units.Convert(lastDigit(v), unit, "kPa")
	if err != nil {
		return err
	}
	m.unit = cmp.Or(m.unit, unit)
	m.pressures = append(m.pressures, typedPressure{kPa, digit})
	return nil
}

// test is the capture of the test once it is complete. A gauge is read to the last digit
// of the finer of the two readings: 6.9 beside 6.88 is 6.90.
func (m *typedAir) test() (record.Capture, error) {
	if len(m.pressures) < 2 || m.minutes == 0 {
		return record.Capture{}, errors.New("type the pressure, the pressure later and the minutes between")
	}
	start := leak.Sample{P: m.pressures[0].kPa, TempC: math.NaN()}
	end := leak.Sample{T: 60 * m.minutes, P: m.pressures[1].kPa, TempC: math.NaN()}
	if len(m.celsius) == 2 {
		start.TempC, end.TempC = m.celsius[0], m.celsius[1]
	}
	d := leak.Between(start, end, leak.Options{
		AmbientKPa:     m.Sheet.LeakDown.AmbientKPa,
		Resolution:     math.Max(math.Min(m.pressures[0].digit, m.pressures[1].digit), m.Resolution),
		TempResolution: m.digit,
	})
	if d.Refused {
		return record.Capture{}, errors.New(words.Joined(d.Notes))
	}
	notes := append([]string{fmt.Sprintf("%.6g to %.6g kPa in %.4g min", start.P, end.P, m.minutes)}, words.Notes(d.Notes)...)
	c := newCapture(d.RatePerMin, d.RateU, 2, record.QualityKeyed, strings.Join(notes, "; "))
	c.Low, c.High = math.Min(start.P, end.P), math.Max(start.P, end.P)
	return c, nil
}

// Ask asks for the next part.
func (m *typedAir) Ask(At) string {
	settle, test := m.Sheet.LeakDown.Times()
	switch {
	case len(m.pressures) == 0:
		return fmt.Sprintf("Fill the line, shut it off, let it settle for %s. Type the pressure with its unit (690 kPa), or the whole test: 690 688 kPa 10 min.", minutes(settle))
	case len(m.pressures) == 1:
		return fmt.Sprintf("Leave the line alone for %s, then type the pressure in %s.", minutes(test), m.unit)
	}
	return "Type the minutes between the two pressures."
}

// minutes writes so many seconds as minutes.
func minutes(seconds float64) string { return units.Exact(units.RoundTo(seconds/60, 0.1)) + " min" }

// airValues bounds the values of an air test in one line: two pressures, two
// temperatures, one time.
const airValues = 5

// parseAir reads the values of an air test. The time comes last, wherever it
// was typed, for it completes the test.
func parseAir(line string, _ float64) ([]frame.KeyedValue, error) {
	var values []frame.KeyedValue
	for _, group := range numberGroups(line) {
		v, unit, err := frame.ParseKeyed(group, 0)
		if err != nil {
			return nil, fmt.Errorf("%q is %w", group, err)
		}
		values = append(values, frame.KeyedValue{Value: v, Unit: unit})
	}
	if len(values) == 0 || len(values) > airValues {
		return nil, fmt.Errorf("%d values", len(values))
	}
	for i := len(values) - 2; i >= 0; i-- {
		if values[i].Unit == "" {
			values[i].Unit = values[i+1].Unit
		}
	}
	slices.SortStableFunc(values, func(a, b frame.KeyedValue) int {
		return rankTime(a.Unit) - rankTime(b.Unit)
	})
	return values, nil
}

// numberGroups cuts a line before each word that begins with a digit or a sign
// and a digit.
func numberGroups(line string) []string {
	var groups []string
	for word := range strings.FieldsSeq(line) {
		digits := strings.TrimLeft(word, "+-.,")
		if len(groups) == 0 || digits != "" && digits[0] >= '0' && digits[0] <= '9' {
			groups = append(groups, word)
			continue
		}
		groups[len(groups)-1] += " " + word
	}
	return groups
}

// rankTime puts times behind all else.
func rankTime(unit string) int {
	if _, ok := record.OwnUnits["time"][unit]; ok {
		return 1
	}
	return 0
}
