package logger

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/analysis/units"
	"crownlog/device"
)

// An airMeasure is an air test with a plain pressure gauge: the pressure at
// the start, the pressure at the end and the time between are typed, and the
// temperatures where they were taken. The time completes the test.
type airMeasure struct {
	r          *Round
	pressures  []typedPressure
	celsius    []float64
	digit      float64 // last one of the temperatures, °C; 0: none typed
	unit       string  // of the first pressure
	minutes    float64
	fromMinute bool // minutes are there
}

// A typedPressure is a pressure with what one of its last digits is, in kPa.
type typedPressure struct{ kPa, digit float64 }

func (m *airMeasure) reset() { *m = airMeasure{r: m.r} }

func (m *airMeasure) add(s analysis.Sample, rd device.Reading) error {
	return m.typed(rd.Value, rd.Unit, rd)
}

// typed takes the next part of the test. A first number without a unit could be
// anything and is asked for again.
func (m *airMeasure) typed(v float64, unit string, rd device.Reading) error {
	if _, rate := ownUnits["leak"][unit]; rate {
		rate, err := m.r.feat.convert(v, unit)
		if err != nil {
			return err
		}
		return m.r.keyed(rate, rd)
	}
	if err := m.take(v, unit); err != nil {
		m.r.warn(capitalise(err.Error()) + ".")
		return nil
	}
	m.r.clear()
	if len(m.pressures) < 2 || !m.fromMinute {
		return nil
	}
	c, err := m.accept()
	if err != nil {
		m.reset()
		m.r.warn(capitalise(err.Error()) + ". Type the test anew.")
		return nil
	}
	c.Time, c.Gauge = rd.Time, rd.Gauge
	return m.r.capture(c)
}

func (m *airMeasure) take(v float64, unit string) error {
	switch {
	case unit != "":
	case len(m.pressures) == 0:
		return fmt.Errorf("%g of what? Type the pressure with its unit: %g kPa, bar or psi", v, v)
	case len(m.pressures) == 1:
		unit = m.unit
	default:
		unit = "min"
	}
	if k, ok := ownUnits["time"][unit]; ok {
		if !(v > 0) {
			return fmt.Errorf("%g %s is no time between two readings", v, unit)
		}
		m.minutes, m.fromMinute = v*k/ownUnits["time"]["min"], true
		return nil
	}
	switch quantity, _, _ := units.Canonical(unit); {
	case quantity == "temperature" && len(m.celsius) < 2:
		m.celsius = append(m.celsius, v)
		m.digit = math.Min(orOne(m.digit), math.Pow(10, -float64(typedDecimals(v))))
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
	digit, err := units.Convert(math.Pow(10, -float64(typedDecimals(v))), unit, "kPa")
	if err != nil {
		return err
	}
	m.unit = orElse(m.unit, unit)
	m.pressures = append(m.pressures, typedPressure{kPa, digit})
	return nil
}

// orOne is 1 for the digit of a value that has none behind the point.
func orOne(digit float64) float64 {
	if digit == 0 {
		return 1
	}
	return digit
}

// accept takes the test once it is complete. A gauge is read to the last digit
// of the finer of the two readings: 6.9 beside 6.88 is 6.90.
func (m *airMeasure) accept() (Capture, error) {
	if len(m.pressures) < 2 || !m.fromMinute {
		return Capture{}, errors.New("type the pressure, the pressure later and the minutes between")
	}
	start := leak.Sample{P: m.pressures[0].kPa, TempC: math.NaN()}
	end := leak.Sample{T: 60 * m.minutes, P: m.pressures[1].kPa, TempC: math.NaN()}
	if len(m.celsius) == 2 {
		start.TempC, end.TempC = m.celsius[0], m.celsius[1]
	}
	d := leak.Between(start, end, leak.Options{
		AmbientKPa:     m.r.cfg.Sheet.LeakDown.AmbientKPa,
		Resolution:     math.Max(math.Min(m.pressures[0].digit, m.pressures[1].digit), m.r.resolution),
		TempResolution: m.digit,
	})
	if d.Refused {
		return Capture{}, errors.New(strings.Join(d.Notes, "; "))
	}
	notes := append([]string{fmt.Sprintf("%.6g to %.6g kPa in %.4g min", start.P, end.P, m.minutes)}, d.Notes...)
	return Capture{
		Value: d.RatePerMin, U: d.RateU, N: 2, Low: math.Min(start.P, end.P), High: math.Max(start.P, end.P),
		Repeatability: math.NaN(), RadiusMM: math.NaN(), Quality: QualityKeyed, Note: strings.Join(notes, "; "),
	}, nil
}

func (m *airMeasure) fill(v *View) { v.Needed = 1 }

// action asks for the next part.
func (m *airMeasure) action() string {
	settle, test := m.r.cfg.Sheet.LeakDown.times()
	switch {
	case len(m.pressures) == 0:
		return fmt.Sprintf("Fill the line, shut it off, let it settle for %s. Type the pressure with its unit (690 kPa), or the whole test: 690 688 kPa 10 min.", minutes(settle))
	case len(m.pressures) == 1:
		return fmt.Sprintf("Leave the line alone for %s, then type the pressure in %s.", minutes(test), m.unit)
	}
	return "Type the minutes between the two pressures."
}

// minutes writes so many seconds as minutes.
func minutes(seconds float64) string { return shortest(roundTo(seconds/60, 0.1)) + " min" }
