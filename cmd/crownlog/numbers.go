package main

import (
	"fmt"
	"math"
	"strconv"

	"crownlog/analysis/gum"
	"crownlog/logger/report"
)

// given is a member that JSON leaves out where it is not known.
func given(known bool, name string, v any) report.Object {
	if !known {
		return nil
	}
	return report.Object{{name, v}}
}

// count is "1 value" or "3 values".
func count(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, one)
}

// unitDecimals is how many decimals a unit is shown with where the gauge's own
// resolution is not known.
func unitDecimals(unit string) int {
	switch unit {
	case "mm":
		return 3
	case "in":
		return 4
	case "µm", "deg", "°C", "lbf·in", "kgf·cm":
		return 1
	}
	return 2
}

// show formats v in unit, "0.173 mm"; "-" for NaN.
func show(v float64, unit string) string {
	return decimal(v, unitDecimals(unit), unit)
}

// decimal shows v in unit with as many decimals as the gauge resolves, "-"
// where there is none.
func decimal(v float64, digits int, unit string) string {
	if math.IsNaN(v) {
		return "-"
	}
	return strconv.FormatFloat(v, 'f', digits, 64) + prefixed(" ", unit)
}

// uncertain shows an uncertainty with two significant digits, however fine that
// is beside the gauge's own; none at all as 0.
func uncertain(u float64, unit string) string {
	rounded, decimals := gum.RoundU(u)
	return decimal(rounded, decimals, unit)
}

// withDoubt shows a value with its expanded uncertainty, both to the decimal that
// has the second significant digit of that. Where it is not known the value has
// as many as the gauge resolves.
func withDoubt(v, expanded float64, digits int, unit string) string {
	if !(expanded > 0) {
		return decimal(v, digits, unit)
	}
	_, decimals := gum.RoundU(expanded)
	return decimal(v, decimals, unit) + " ± " + uncertain(expanded, unit)
}
