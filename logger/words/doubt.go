package words

import (
	"fmt"

	"crownlog/analysis/setup"
	"crownlog/analysis/units"
)

// Doubt says why a printed figure is worth a second look.
func Doubt(d setup.Doubt) string {
	short := func(i int) string { return units.Short(d.Args[i]) }
	switch d.Of {
	case setup.OfColumns:
		return fmt.Sprintf("%s %s is printed beside %s %s, which is %s %s", short(0), d.Names[0], short(1), d.Names[1], short(2), d.Names[0]) +
			map[string]string{
				setup.DoubtTen:   ": a factor of ten apart",
				setup.DoubtKgfCm: ": a factor of a hundred apart, as kgf·cm is from kgf·m",
			}[d.Kind]
	case setup.OfBolt:
		return fmt.Sprintf("%s N·m for %s class %s", short(0), d.Names[0], d.Names[1]) + boltDoubt(d)
	case setup.OfPreload:
		return fmt.Sprintf("a preload of %s N·m is outside the usual %s to %s N·m", short(0), short(1), short(2)) +
			map[string]string{
				setup.DoubtTen:   ": a factor of ten is misprinted in some manuals",
				setup.DoubtKgfCm: ": is it kgf·cm for kgf·m?",
			}[d.Kind]
	case setup.OfLimits:
		return fmt.Sprintf("the lower limit %s is not below the upper limit %s", short(0), short(1))
	case setup.OfInches:
		return fmt.Sprintf("%s mm would be %s mm if it were printed in inches", short(0), short(1))
	case setup.OfAnySize:
		return fmt.Sprintf("%s mm is more backlash than any crown wheel has, usually %s mm at most", short(0), short(1))
	case setup.OfSize:
		end := "least"
		if d.Kind == setup.DoubtWide {
			end = "most"
		}
		return fmt.Sprintf("a wheel of %s mm usually has %s mm of backlash at %s", short(0), short(1), end)
	case setup.OfFace:
		return fmt.Sprintf("a back face at its limit of %s mm swings the backlash by about %.3f mm, and its spread has %s mm: it takes a truer face", short(0), d.Args[1], short(2))
	}
	if d.Kind == setup.DoubtCoarse {
		return fmt.Sprintf("the gauge counts in %s, more than a tenth of the window of %s", short(0), short(1))
	}
	return fmt.Sprintf("the window is %.2f standard uncertainties wide: below 3.92 no reading at all can prove it is met; it needs u below %s", d.Args[0], short(1))
}

func boltDoubt(d setup.Doubt) string {
	torque, ceiling := d.Args[0], d.Args[1]
	switch {
	case torque > ceiling && d.Kind == setup.DoubtTen:
		return fmt.Sprintf(" is above the bolt's ceiling of %.0f N·m: a tenth of it would fit", ceiling)
	case torque > ceiling:
		return fmt.Sprintf(" is above the bolt's ceiling of %.0f N·m", ceiling)
	case d.Kind == setup.DoubtKgfCm:
		return " is very little: is it kgf·m printed as kgf·cm?"
	}
	return " is very little: ten times it would fit"
}
