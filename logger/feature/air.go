package feature

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"
	"time"

	"crownlog/analysis/leak"
	"crownlog/analysis/units"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// A typedAir is an air test with a plain pressure gauge: the pressure at the
// start, the pressure at the end and the temperatures where they were taken are
// typed. At the keys the clock runs from the first pressure on: the line settles,
// then the test begins with the next pressure and its time is over before the
// last is taken. In one line, or from a file, the minutes are typed too, which
// completes the test and is said in its note.
type typedAir struct {
	*entry
	pressures []typedPressure
	celsius   []float64
	digit     float64   // last one of the temperatures, °C; 0: none typed
	unit      string    // of the first pressure
	minutes   float64   // between the two pressures; 0: not known yet
	since     time.Time // when what is counted down began; zero: nothing did
	testing   bool      // it is the test; else the line settles
	now       time.Time // of the newest input
	rung      bool      // for the end of what is counted down
}

// A typedPressure is a pressure with what one of its last digits is, in kPa, and
// when it was typed.
type typedPressure struct {
	kPa, digit float64
	at         time.Time
}

// oneLine is the most time, s, between values that were typed in one line: no
// test is as short.
const oneLine = 2

func (m *typedAir) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Enter, Reset:
		*m = typedAir{entry: m.entry}
	case Tick: // rings once when the line has settled, and once when the test is over
		m.now = in.Time
		if left, leg := m.left(); leg != "" && left <= 0 && !m.rung {
			m.rung = true
			return one(Ring("Type the pressure now."))
		}
	case Typed:
		m.now = in.Time
		return m.part(at, in)
	case Accept:
		return captureOf(m.test())
	}
	return nil
}

// left is what is left of the settling or of the test, s, and which of them; ""
// where no clock runs.
func (m *typedAir) left() (left float64, leg string) {
	left, test := m.Sheet.LeakDown.Times()
	leg = "settling"
	switch {
	case m.Piped || m.since.IsZero():
		return 0, ""
	case m.testing:
		left, leg = test, "air test"
	}
	return math.Max(0, left-m.now.Sub(m.since).Seconds()), leg
}

func (m *typedAir) Progress() Progress {
	p := plainProgress(0, false)
	p.Left, p.Leg = m.left()
	return p
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
	n := len(m.pressures)
	if n > 0 {
		if why := tooHigh(m.Sheet, m.pressures[n-1].kPa); why != "" {
			*m = typedAir{entry: m.entry}
			return one(Fault{Text: why})
		}
	}
	switch {
	case n == 2 && m.minutes > 0:
		return m.finish(in, "minutes typed, no clock ran")
	case n == 2 && !m.Piped && m.pressures[1].at.Sub(m.pressures[0].at).Seconds() > oneLine:
		return m.clocked(in)
	case n == 1 && m.since.IsZero():
		m.since = in.Time
	}
	return one(Clear{})
}

// clocked takes a second pressure by the clock: it begins the test once the line
// has settled, and ends it once its time is over.
func (m *typedAir) clocked(in Input) []Effect {
	last := m.pressures[1]
	if left, leg := m.left(); left > 0 {
		m.pressures = m.pressures[:1]
		return one(Warn(fmt.Sprintf("Too early: %.0f s of the %s to go. What was typed is not taken.", math.Ceil(left), leg)))
	}
	if !m.testing {
		m.since, m.testing, m.rung, m.pressures = last.at, true, false, []typedPressure{last}
		return one(Clear{})
	}
	m.minutes = last.at.Sub(m.since).Minutes()
	return m.finish(in, "minutes by the clock")
}

// finish makes the capture of the test, or begins it anew where it cannot be read.
func (m *typedAir) finish(in Input, how string) []Effect {
	c, err := m.test()
	if err != nil {
		*m = typedAir{entry: m.entry}
		return []Effect{Clear{}, warnOf(err) + " Type the test anew."}
	}
	c.Time, c.Gauge, c.Note = in.Time, in.Gauge, c.Note+"; "+how
	return []Effect{Clear{}, Captured(c)}
}

func (m *typedAir) take(v float64, unit string) error {
	n := len(m.pressures)
	unit = cmp.Or(unit, [...]string{"", m.unit, "min"}[n])
	seconds, timed := record.OwnUnits["time"][unit]
	quantity, _, _ := units.Canonical(unit)
	kPa, err := units.Convert(v, unit, "kPa")
	switch {
	case unit == "":
		return fmt.Errorf("%g of what? Type the pressure with its unit: %g kPa, bar or psi", v, v)
	case timed && !(v > 0):
		return fmt.Errorf("%g %s is no time between two readings", v, unit)
	case timed && m.testing:
		return errors.New("the clock runs: the minutes come from it")
	case timed:
		m.minutes = v * seconds / record.OwnUnits["time"]["min"]
	case quantity == "temperature" && len(m.celsius) < 2:
		m.celsius = append(m.celsius, v)
		m.digit = math.Min(cmp.Or(m.digit, 1), lastDigit(v))
	case err != nil:
		return fmt.Errorf("unit %q: want kPa, bar or psi, and min", unit)
	case n == 2:
		return errors.New("both pressures are there: type the minutes between them")
	case n == 0 && !(kPa > 0):
		return fmt.Errorf("%g %s is no pressure to begin with", v, unit)
	default:
		digit, _ := units.Convert(lastDigit(v), unit, "kPa") // as the pressure was
		m.unit = cmp.Or(m.unit, unit)
		m.pressures = append(m.pressures, typedPressure{kPa, digit, m.now})
	}
	return nil
}

// test is the capture of the test once it is complete. A gauge is read to the last digit
// of the finer of the two readings: 6.9 beside 6.88 is 6.90.
func (m *typedAir) test() (record.Capture, error) {
	if len(m.pressures) < 2 || m.minutes == 0 {
		return record.Capture{}, errors.New("type the pressure, the pressure later and the minutes between")
	}
	first, last := m.pressures[0], m.pressures[1]
	start, end := leak.Sample{P: first.kPa, TempC: math.NaN()}, leak.Sample{T: 60 * m.minutes, P: last.kPa, TempC: math.NaN()}
	if len(m.celsius) == 2 {
		start.TempC, end.TempC = m.celsius[0], m.celsius[1]
	}
	d := leak.Between(start, end, leak.Options{
		AmbientKPa: m.Sheet.LeakDown.AmbientKPa,
		Resolution: math.Max(math.Min(first.digit, last.digit), m.Resolution), TempResolution: m.digit,
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
	settle, _ := m.Sheet.LeakDown.Times()
	left, leg := m.left()
	switch {
	case len(m.pressures) == 0:
		return fillTo(m.Sheet) + fmt.Sprintf(", shut it off and type the pressure with its unit: it settles for %s min then. "+
			"Or type a whole test in one line: start, end, unit and minutes.", units.Trimmed(settle/60, 1))
	case len(m.pressures) == 2:
		return "Type the minutes between the two pressures."
	case left > 0:
		return toGo(leg, left)
	case leg == "air test":
		return "The time is over: type the pressure in " + m.unit + "."
	case leg != "":
		return "The line has settled: type the pressure in " + m.unit + " as it is now. The test begins with it."
	}
	return "Type the pressure at the end in " + m.unit + "."
}

// parseAir reads the values of an air test. The time comes last, wherever it
// was typed, for it completes the test.
func parseAir(line string, _ float64) ([]frame.KeyedValue, error) {
	var values []frame.KeyedValue
	for _, group := range numberGroups(line) {
		value, err := parseOne(group, 0)
		if err != nil {
			return nil, fmt.Errorf("%q is %w", group, err)
		}
		values = append(values, value...)
	}
	if len(values) == 0 || len(values) > 5 { // two pressures, two temperatures, one time
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
	line = strings.Join(strings.Fields(line), " ")
	return strings.FieldsFunc(numberWord.ReplaceAllString(line, "\n$1"), func(r rune) bool { return r == '\n' })
}

var numberWord = regexp.MustCompile(`(?:^| )([-+.,]*[0-9])`)

// rankTime puts times behind all else.
func rankTime(unit string) int {
	if _, ok := record.OwnUnits["time"][unit]; ok {
		return 1
	}
	return 0
}
