package logger

import (
	"fmt"
	"math"
)

// pattern is entered on a tooth: along it, then up it.
func pattern(name, title string) feature {
	return feature{
		name: name, title: title, kind: kindPattern,
		caution: "Keep fingers and rags out of the mesh while it turns under load.",
		positions: func(Sheet) []Position {
			return []Position{
				{Index: 1, AngleDeg: math.NaN(), Label: "along"},
				{Index: 2, AngleDeg: math.NaN(), Label: "up"},
			}
		},
		example:  "a place from -1 to +1 such as -0.3",
		together: true,
		typing: typing{
			check: onTooth,
			doubt: func(Setup, At, float64) string { return "" },
			ask: func(_ Setup, at At) string {
				if at.Place == 0 {
					return "Where does the contact lie along the tooth? -1 toe, 0 middle, +1 heel."
				}
				return "Where does it lie up the tooth? -1 root, 0 middle, +1 face."
			},
		},
	}
}

func onTooth(_ feature, v float64) error {
	if v < -1 || v > 1 {
		return fmt.Errorf("%g is off the tooth: want -1 to +1", v)
	}
	return nil
}
