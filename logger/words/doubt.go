package words

import (
	"fmt"

	"crownlog/analysis/setup"
)

// doubts are the sentences by what is doubted, and behind them what is said of its
// kind. The figures come first among their arguments, then the names.
var doubts = map[string]string{
	setup.OfColumns:                      "%[1]s %[4]s is printed beside %[2]s %[5]s, which is %[3]s %[4]s",
	setup.OfColumns + setup.DoubtTen:     ": a factor of ten apart",
	setup.OfColumns + setup.DoubtKgfCm:   ": a factor of a hundred apart, as kgf·cm is from kgf·m",
	setup.OfBolt:                         "%[1]s N·m for %[3]s class %[4]s",
	setup.OfBolt + setup.DoubtKgfCm:      " is very little: is it kgf·m printed as kgf·cm?",
	setup.OfBolt + setup.DoubtTen:        " is very little: ten times it would fit",
	ofStrongBolt:                         "%[1]s N·m for %[3]s class %[4]s is above the bolt's ceiling of %.0[2]f N·m",
	ofStrongBolt + setup.DoubtTen:        ": a tenth of it would fit",
	setup.OfPreload:                      "a preload of %[1]s N·m is outside the usual %[2]s to %[3]s N·m",
	setup.OfPreload + setup.DoubtTen:     ": a factor of ten is misprinted in some manuals",
	setup.OfPreload + setup.DoubtKgfCm:   ": is it kgf·cm for kgf·m?",
	setup.OfLimits:                       "the lower limit %[1]s is not below the upper limit %[2]s",
	setup.OfInches:                       "%[1]s mm would be %[2]s mm if it were printed in inches",
	setup.OfAnySize:                      "%[1]s is more backlash than any crown wheel has, usually %[2]s at most",
	setup.OfSize:                         "a wheel of %[1]s mm usually has %[2]s of backlash at ",
	setup.OfSize + setup.DoubtTight:      "least",
	setup.OfSize + setup.DoubtWide:       "most",
	setup.OfFace:                         "a back face at its limit of %[1]s swings the backlash by about %[2]s, and its spread has %[3]s: it takes a truer face",
	setup.OfGauge + setup.DoubtCoarse:    "the gauge counts in %[1]s, more than a tenth of the window of %[2]s",
	setup.OfGauge + setup.DoubtUndecided: "the window is %.2[1]f standard uncertainties wide: below 3.92 no reading at all can prove it is met; it needs u below %[2]s",
}

// ofStrongBolt is a torque above the bolt's ceiling.
const ofStrongBolt = setup.OfBolt + ", above its ceiling, "

// Doubt says why a printed figure is worth a second look.
func Doubt(d setup.Doubt, length Length) string {
	of := d.Of
	if of == setup.OfBolt && d.Args[0] > d.Args[1] {
		of = ofStrongBolt
	}
	args := figures(d.Args)
	for i, v := range d.Args {
		whole := of == setup.OfAnySize || of == setup.OfFace || d.Kind == setup.DoubtCoarse
		if whole || i > 0 && (of == setup.OfSize || of == setup.OfGauge) { // the first is of the wheel, or a count
			args[i] = length(v)
		}
	}
	for _, name := range d.Names {
		args = append(args, name)
	}
	return fmt.Sprintf(doubts[of]+doubts[of+d.Kind], args...)
}
