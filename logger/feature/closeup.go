package feature

import (
	"errors"
	"strings"

	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// closingParts is what is seen to when the axle is closed up, by the part.
var closingParts = map[string]string{
	"cover":    "The cover is on and its bolts are tight, the magnet clean?",
	"sealant":  "The sealant or gasket is whole all round, and had its time?",
	"breather": "Air goes through the breather?",
}

// closeUp is answered part by part; only a yes, which is 1, is kept. It is never
// inside: nothing is measured, somebody says so.
func closeUp() Feature {
	return Feature{
		positions: func(sheet.Sheet, string) []record.Position { return placesCalled("cover", "sealant", "breather") },
		place:     "part",
		partial:   func(record.Capture) bool { return true },
		Word:      func(record.Capture) string { return "yes" },
		example:   "yes, once it is so",
		parse: func(line string, _ float64) ([]frame.KeyedValue, error) {
			if word := strings.ToLower(strings.TrimSpace(line)); word != "y" && word != "yes" {
				return nil, errors.New("put it right first")
			}
			return []frame.KeyedValue{{Value: 1}}, nil
		},
		Check: func(_ Feature, v float64) error {
			if v != 1 {
				return errors.New("put it right first, then type yes")
			}
			return nil
		},
		ask: func(_ Setup, at At) string { return closingParts[at.Position.Label] + " Type yes." },
	}
}

// oilFill is a volume that is typed.
func oilFill() Feature {
	return Feature{
		example: "a volume such as 1.9, 1900 ml or 2 qt (US)",
		Check:   notNegative,
		ask:     func(s Setup, _ At) string { return "Type the litres of " + s.Of.Title + "." },
	}
}
