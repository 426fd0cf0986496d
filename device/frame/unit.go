package frame

// units maps each spelling of a unit that displays, manuals and standards use,
// in lower case and without spaces, to the one a Reading carries. \xb5, \xb7 and
// \xb0 are µ, · and ° in Latin-1, as gauges without UTF-8 send them; both
// characters for "micro" of Unicode are read.
var units = map[string]string{
	"mm": "mm", "millimeter": "mm", "millimetre": "mm",
	"in": "in", "inch": "in", "inches": "in", "\"": "in",
	"um": "µm", "µm": "µm", "μm": "µm", "\xb5m": "µm", "micron": "µm", "microns": "µm",
	"uin": "µin", "µin": "µin", "μin": "µin", "\xb5in": "µin", "microinch": "µin", "ncm": "N·cm", "n.cm": "N·cm", "n·cm": "N·cm", "n*cm": "N·cm", "n-cm": "N·cm", "n\xb7cm": "N·cm",
	"cnm": "cN·m", "cn.m": "cN·m", "cn·m": "cN·m", "cn*m": "cN·m", "cn-m": "cN·m", "cn\xb7m": "cN·m",
	"dnm": "dN·m", "dn.m": "dN·m", "dn·m": "dN·m", "dn*m": "dN·m", "dn-m": "dN·m", "dn\xb7m": "dN·m",
	"ozf.in": "ozf·in", "ozf·in": "ozf·in", "ozf-in": "ozf·in", "ozfin": "ozf·in", "oz.in": "ozf·in", "oz-in": "ozf·in", "ozin": "ozf·in", "in.oz": "ozf·in", "in-oz": "ozf·in", "inoz": "ozf·in",
	"nm": "N·m", "n.m": "N·m", "n·m": "N·m", "n*m": "N·m", "n-m": "N·m", "n\xb7m": "N·m",
	"lbf.ft": "lbf·ft", "lbf·ft": "lbf·ft", "lbf-ft": "lbf·ft", "lbfft": "lbf·ft",
	"lb.ft": "lbf·ft", "lb-ft": "lbf·ft", "lbft": "lbf·ft",
	"ft.lb": "lbf·ft", "ft-lb": "lbf·ft", "ftlb": "lbf·ft", "ft-lbs": "lbf·ft", "ft.lbs": "lbf·ft", "ftlbs": "lbf·ft", "lbs.ft": "lbf·ft", "lbs-ft": "lbf·ft", "ft·lbf": "lbf·ft", "ft.lbf": "lbf·ft", "ft-lbf": "lbf·ft", "ftlbf": "lbf·ft",
	"lbf.in": "lbf·in", "lbf·in": "lbf·in", "lbf-in": "lbf·in", "lbfin": "lbf·in",
	"lb.in": "lbf·in", "lb-in": "lbf·in", "lbin": "lbf·in",
	"in.lb": "lbf·in", "in-lb": "lbf·in", "inlb": "lbf·in", "in-lbs": "lbf·in", "in.lbs": "lbf·in", "inlbs": "lbf·in", "lbs.in": "lbf·in", "lbs-in": "lbf·in", "in·lbf": "lbf·in", "in.lbf": "lbf·in", "in-lbf": "lbf·in", "inlbf": "lbf·in",
	"kgf.m": "kgf·m", "kgf·m": "kgf·m", "kgf-m": "kgf·m", "kgfm": "kgf·m", "kgm": "kgf·m", "kg.m": "kgf·m", "kg-m": "kgf·m",
	"kgf.cm": "kgf·cm", "kgf·cm": "kgf·cm", "kgf-cm": "kgf·cm", "kgfcm": "kgf·cm", "kgcm": "kgf·cm", "kg.cm": "kgf·cm", "kg-cm": "kgf·cm",
	"kpa": "kPa", "bar": "bar", "psi": "psi", "psig": "psi",
	"pa": "Pa", "mpa": "MPa", "mbar": "mbar", "hpa": "mbar",
	"kgf/cm2": "kgf/cm²", "kgf/cm²": "kgf/cm²", "kg/cm2": "kgf/cm²", "kg/cm²": "kgf/cm²", "kgf/cm\xb2": "kgf/cm²", "kg/cm\xb2": "kgf/cm²", "inh2o": "inH2O", "in.h2o": "inH2O", "inh₂o": "inH2O",
	"deg": "deg", "°": "deg", "\xb0": "deg", "degree": "deg", "degrees": "deg",
	"°c": "°C", "\xb0c": "°C", "degc": "°C",
}

// quantities says which quantity a unit measures.
var quantities = map[string]string{
	"mm": "length", "in": "length", "µm": "length", "µin": "length",
	"N·m": "torque", "N·cm": "torque", "cN·m": "torque", "dN·m": "torque", "ozf·in": "torque", "lbf·ft": "torque", "lbf·in": "torque", "kgf·m": "torque", "kgf·cm": "torque",
	"kPa": "pressure", "bar": "pressure", "psi": "pressure",
	"Pa": "pressure", "MPa": "pressure", "mbar": "pressure", "kgf/cm²": "pressure", "inH2O": "pressure",
	"deg": "angle", "°C": "temperature",
}

// Quantity returns what a unit measures, in its spelling of a Reading:
// "length", "torque", "pressure", "angle" or "temperature"; "" for no unit.
func Quantity(unit string) string { return quantities[unit] }

// UnitList names the units that a profile may give, for a message.
const UnitList = "mm, in, µm, µin, N·m, N·cm, cN·m, dN·m, lbf·ft, lbf·in, ozf·in, kgf·m, kgf·cm, kPa, Pa, MPa, bar, mbar, psi, kgf/cm², inH2O, deg or °C"

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
