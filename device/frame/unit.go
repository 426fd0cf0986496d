package frame

// meanings maps each spelling of a unit that displays, manuals and standards use
// to the one a Reading carries, and the words for a state and the signs to theirs:
// in lower case, and without the points, stars, dashes and blanks between the parts.
// \xb5, \xb0 and \xb2 are µ, ° and ² in Latin-1, as gauges without UTF-8 send them;
// both characters for "micro" of Unicode are read.
var meanings = map[string]string{
	"mm": "mm", "millimeter": "mm", "millimetre": "mm", "in": "in", "inch": "in", "inches": "in", "\"": "in",
	"um": "µm", "µm": "µm", "μm": "µm", "\xb5m": "µm", "micron": "µm", "microns": "µm",
	"uin": "µin", "µin": "µin", "μin": "µin", "\xb5in": "µin", "microinch": "µin",
	"nm": "N·m", "ncm": "N·cm", "cnm": "cN·m", "dnm": "dN·m", "ozfin": "ozf·in", "ozin": "ozf·in", "inoz": "ozf·in",
	"lbfft": "lbf·ft", "lbft": "lbf·ft", "lbsft": "lbf·ft", "ftlb": "lbf·ft", "ftlbs": "lbf·ft", "ftlbf": "lbf·ft",
	"lbfin": "lbf·in", "lbin": "lbf·in", "lbsin": "lbf·in", "inlb": "lbf·in", "inlbs": "lbf·in", "inlbf": "lbf·in",
	"kgfm": "kgf·m", "kgm": "kgf·m", "kgfcm": "kgf·cm", "kgcm": "kgf·cm",
	"kpa": "kPa", "pa": "Pa", "mpa": "MPa", "bar": "bar", "mbar": "mbar", "hpa": "mbar", "psi": "psi", "psig": "psi",
	"kgf/cm2": "kgf/cm²", "kgf/cm²": "kgf/cm²", "kg/cm2": "kgf/cm²", "kg/cm²": "kgf/cm²", "kgf/cm\xb2": "kgf/cm²", "kg/cm\xb2": "kgf/cm²",
	"inh2o": "inH2O", "inh₂o": "inH2O",
	"deg": "deg", "°": "deg", "\xb0": "deg", "degree": "deg", "degrees": "deg", "°c": "°C", "\xb0c": "°C", "degc": "°C",
	"hold": wordHold, "hld": wordHold, "ol": wordOver, "over": wordOver, "overrange": wordOver,
	"lobat": wordBattery, "lowbat": wordBattery, "lobatt": wordBattery, "lowbatt": wordBattery,
	"+": wordPlus, "-": wordMinus,
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

// UnitOf returns the unit a word of ASCII or Latin-1 or UTF-8 text stands for, as
// a Reading carries it, and whether there is one.
func UnitOf(word []byte) (string, bool) {
	m := meaningOf(word)
	return m, Quantity(m) != ""
}

// meaningOf returns what a word stands for in any text line; "" for one not known.
func meaningOf(word []byte) string {
	var room [12]byte // "millimeter" is the longest
	plain := room[:0]
	for i, c := range word {
		between := i > 0 && i+1 < len(word) // "n·m", in Latin-1 a byte and in UTF-8 two
		if between && (c == '.' || c == '*' || c == '-' || c == ' ' || c == 0xb7 || c == 0xc2 && word[i+1] == 0xb7) {
			continue
		}
		if len(plain) == len(room) {
			return ""
		}
		if isLetter(c) {
			c |= 0x20 // in lower case
		}
		plain = append(plain, c)
	}
	return meanings[string(plain)]
}
