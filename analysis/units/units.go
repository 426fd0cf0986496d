// Package units turns quantities from one unit into another by exact factors,
// and knows how gauges and manuals spell their units.
package units

import (
	"fmt"
	"strings"
)

// A unit is one spelling this program writes, what it measures, and its size
// in the base unit of that quantity.
type unit struct {
	name     string
	quantity string
	times    float64 // value·times/over is in the base unit; both exact in decimal
	over     float64
	also     []string // other spellings, lower case, without spaces
}

// The factors are exact: international inch 25.4 mm and pound 0.45359237 kg
// (1959 agreement), standard gravity 9.80665 m/s²; but the inch of water, which is
// conventional. Source: NIST SP 811 (2008),
// appendix B.8; ISO 80000-4:2019.
var table = []unit{
	{"mm", "length", 1, 1, []string{"millimetre", "millimeter", "millimetres", "millimeters"}},
	{"in", "length", 25.4, 1, []string{"inch", "inches", "\"", "″", "''"}},
	{"µm", "length", 1, 1000, []string{"um", "μm", "micron", "microns", "micrometre", "micrometer"}},
	{"thou", "length", 25.4, 1000, []string{"mil", "mils", "thousandth", "thousandths"}},
	{"µin", "length", 25.4, 1e6, []string{"uin", "μin", "microinch"}},
	{"N·m", "torque", 1, 1, []string{"nm", "n.m", "n-m", "n*m", "newtonmetre", "newtonmeter", "newtonmetres", "newtonmeters", "nm."}},
	{"lbf·ft", "torque", 1.3558179483314004, 1, []string{"lbfft", "lbf.ft", "lbf-ft", "lbf*ft", "lbft", "lb.ft", "lb-ft", "lb·ft", "lb*ft", "ftlb", "ft.lb", "ft-lb", "ft·lb", "ftlbs", "ft-lbs", "ftlbf", "ft.lbf", "ft-lbf", "ft·lbf", "footpound", "footpounds"}},
	{"lbf·in", "torque", 0.1129848290276167, 1, []string{"lbfin", "lbf.in", "lbf-in", "lbf*in", "lbin", "lb.in", "lb-in", "lb·in", "lb*in", "inlb", "in.lb", "in-lb", "in·lb", "inlbs", "in-lbs", "inlbf", "in.lbf", "in-lbf", "in·lbf", "inchpound", "inchpounds"}},
	{"kgf·m", "torque", 9.80665, 1, []string{"kgfm", "kgf.m", "kgf-m", "kgf*m", "kgm", "kg.m", "kg-m", "kg·m", "mkg", "m.kg", "m-kg", "mkgf", "kpm"}},
	{"kgf·cm", "torque", 9.80665, 100, []string{"kgfcm", "kgf.cm", "kgf-cm", "kgf*cm", "kgcm", "kg.cm", "kg-cm", "kg·cm", "cmkg", "cm.kg", "cm-kg"}},
	{"N·cm", "torque", 1, 100, []string{"ncm", "n.cm", "n-cm", "n*cm"}},
	{"cN·m", "torque", 1, 100, []string{"cnm", "cn.m", "cn-m"}},
	{"dN·m", "torque", 1, 10, []string{"dnm", "dn.m", "dn-m"}},
	{"ozf·in", "torque", 0.1129848290276167, 16, []string{"ozfin", "ozf.in", "oz.in", "oz-in", "ozin", "in-oz"}},
	{"kPa", "pressure", 1, 1, []string{"kilopascal", "kilopascals"}},
	{"Pa", "pressure", 1, 1000, []string{"pascal", "pascals"}},
	{"MPa", "pressure", 1000, 1, []string{"megapascal"}},
	{"bar", "pressure", 100, 1, []string{"bars"}},
	{"mbar", "pressure", 1, 10, []string{"millibar", "hpa"}},
	{"psi", "pressure", 6.894757293168361, 1, []string{"psig", "lbf/in²", "lbf/in2", "lb/in2", "lb/in²"}},
	{"kgf/cm²", "pressure", 98.0665, 1, []string{"kgf/cm2", "kg/cm2", "kg/cm²", "at"}},
	{"inH2O", "pressure", 0.2490889, 1, []string{"inh2o", "in.h2o", "inwc"}},
	{"deg", "angle", 1, 1, []string{"°", "degree", "degrees"}},
	{"°C", "temperature", 1, 1, []string{"c", "degc", "celsius", "℃", "ºc"}},
}

// spellings maps every accepted spelling to its unit.
var spellings = func() map[string]*unit {
	m := make(map[string]*unit)
	for i := range table {
		u := &table[i]
		m[plain(u.name)] = u
		for _, s := range u.also {
			m[s] = u
		}
	}
	return m
}()

// unspaced takes spaces out of a spelling, and takes one dot for another.
var unspaced = strings.NewReplacer(" ", "", "\u00a0", "", "\t", "", "•", "·", "⋅", "·", "∙", "·")

// plain lowers the case of a spelling and takes out its spaces. MPa keeps
// its capital, since mPa is another unit.
func plain(s string) string {
	s = unspaced.Replace(strings.TrimSpace(s))
	if strings.HasPrefix(s, "MPa") || strings.HasPrefix(s, "mPa") {
		return s
	}
	return strings.ToLower(s)
}

// Canonical returns what a unit measures ("length", "torque", "pressure",
// "angle" or "temperature") and the unit everything of that kind is computed
// in: mm, N·m, kPa, deg or °C.
func Canonical(unit string) (quantity, base string, err error) {
	u, ok := spellings[plain(unit)]
	if !ok {
		return "", "", fmt.Errorf("unknown unit %q", unit)
	}
	for i := range table {
		if table[i].quantity == u.quantity && table[i].times == 1 && table[i].over == 1 {
			return u.quantity, table[i].name, nil
		}
	}
	return "", "", fmt.Errorf("unit %q has no base unit", unit)
}

// Convert returns v, given in from, in the unit to. Both must measure the same
// kind of quantity. Going there and back changes v by one unit in the last
// place at most: one way multiplies by what the other divides by.
func Convert(v float64, from, to string) (float64, error) {
	f, ok := spellings[plain(from)]
	if !ok {
		return 0, fmt.Errorf("unknown unit %q", from)
	}
	t, ok := spellings[plain(to)]
	if !ok {
		return 0, fmt.Errorf("unknown unit %q", to)
	}
	switch {
	case f == t:
		return v, nil
	case f.quantity != t.quantity:
		return 0, fmt.Errorf("cannot turn %s %q into %s %q", f.quantity, from, t.quantity, to)
	}
	if k := (f.times * t.over) / (f.over * t.times); k >= 1 {
		return v * k, nil
	}
	return v / ((t.times * f.over) / (t.over * f.times)), nil
}
