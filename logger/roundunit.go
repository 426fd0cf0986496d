package logger

import (
	"fmt"

	"crownlog/analysis/units"
)

// typedUnit is the unit of a typed value that names none.
func (r *Round) typedUnit() string {
	if r.cfg.Keyed && r.cfg.Unit != "" {
		return r.cfg.Unit
	}
	return r.cfg.Sheet.UnitFor(r.cfg.Feature)
}

// bareUnit is typedUnit for the screen; "" where a value has to name its unit.
func (r *Round) bareUnit() string {
	if r.feat.kind == kindLeak {
		return ""
	}
	return r.typedUnit()
}

// inManual writes v, in the feature's unit, in the manual's first.
func (r *Round) inManual(v float64) string {
	unit := r.cfg.Sheet.UnitFor(r.cfg.Feature)
	if unit == r.feat.unit {
		return r.amount(v)
	}
	x, err := units.Convert(v, r.feat.unit, unit)
	if err != nil {
		return r.amount(v)
	}
	return fmt.Sprintf("%s %s (%s)", shortest(roundTo(x, 0.1)), unit, r.amount(v))
}
