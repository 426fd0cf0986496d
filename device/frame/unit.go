package frame

// units maps each spelling of a unit that displays, manuals and standards use,
// in lower case and without spaces, to the one a Reading carries. \xb5, \xb7 and
// \xb0 are µ, · and ° in Latin-1, as gauges without UTF-8 send them; both
// characters for "micro" of Unicode are read.
var units = map[string]string{
	"mm": "mm", "millimeter": "mm", "millimetre": "mm",
	"in": "in", "inch": "in", "inches": "in", "\"": "in",
	"um": "µm", "µm": "µm", "μm": "µm", "\xb5m": "µm", "micron": "µm", "microns": "µm",
	"nm": "N·m", "n.m": "N·m", "n·m": "N·m", "n*m": "N·m", "n-m": "N·m", "n\xb7m": "N·m",
	"lbf.ft": "lbf·ft", "lbf·ft": "lbf·ft", "lbf-ft": "lbf·ft", "lbfft": "lbf·ft",
	"lb.ft": "lbf·ft", "lb-ft": "lbf·ft", "lbft": "lbf·ft",
	"ft.lb": "lbf·ft", "ft-lb": "lbf·ft", "ftlb": "lbf·ft", "ft-lbs": "lbf·ft", "ft·lbf": "lbf·ft", "ft.lbf": "lbf·ft", "ft-lbf": "lbf·ft", "ftlbf": "lbf·ft",
	"lbf.in": "lbf·in", "lbf·in": "lbf·in", "lbf-in": "lbf·in", "lbfin": "lbf·in",
	"lb.in": "lbf·in", "lb-in": "lbf·in", "lbin": "lbf·in",
	"in.lb": "lbf·in", "in-lb": "lbf·in", "inlb": "lbf·in", "in-lbs": "lbf·in", "in·lbf": "lbf·in", "in.lbf": "lbf·in", "in-lbf": "lbf·in", "inlbf": "lbf·in",
	"kgf.m": "kgf·m", "kgf·m": "kgf·m", "kgf-m": "kgf·m", "kgfm": "kgf·m", "kgm": "kgf·m", "kg.m": "kgf·m", "kg-m": "kgf·m",
	"kgf.cm": "kgf·cm", "kgf·cm": "kgf·cm", "kgf-cm": "kgf·cm", "kgfcm": "kgf·cm", "kgcm": "kgf·cm", "kg.cm": "kgf·cm", "kg-cm": "kgf·cm",
	"kpa": "kPa", "bar": "bar", "psi": "psi",
	"deg": "deg", "°": "deg", "\xb0": "deg", "degree": "deg", "degrees": "deg",
	"°c": "°C", "\xb0c": "°C", "degc": "°C",
}

// quantities says which quantity a unit measures.
var quantities = map[string]string{
	"mm": "length", "in": "length", "µm": "length",
	"N·m": "torque", "lbf·ft": "torque", "lbf·in": "torque", "kgf·m": "torque", "kgf·cm": "torque",
	"kPa": "pressure", "bar": "pressure", "psi": "pressure",
	"deg": "angle", "°C": "temperature",
}

// Quantity returns what a unit measures, in its spelling of a Reading:
// "length", "torque", "pressure", "angle" or "temperature"; "" for no unit.
func Quantity(unit string) string { return quantities[unit] }

// UnitList names the units that a profile may give, for a message.
const UnitList = "mm, in, µm, N·m, lbf·ft, lbf·in, kgf·m, kgf·cm, kPa, bar, psi, deg or °C"

// longestUnit is room for any unit word, in bytes: "millimeter" is the longest.
const longestUnit = 12

// UnitOf returns the unit a word of ASCII or Latin-1 or UTF-8 text stands for, as
// a Reading carries it, and whether there is one.
func UnitOf(word []byte) (string, bool) {
	var low [longestUnit]byte
	u, ok := units[string(lowered(word, low[:0]))]
	return u, ok
}

// lowered appends a word to low in lower case.
func lowered(word, low []byte) []byte {
	for _, c := range word {
		low = append(low, lower(c))
	}
	return low
}

func lower(c byte) byte {
	if 'A' <= c && c <= 'Z' {
		return c + 'a' - 'A'
	}
	return c
}
