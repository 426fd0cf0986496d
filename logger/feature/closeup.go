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
		Feature:   record.FeatureOf(record.FeatureCloseUp),
		Caution:   "Sealant: gloves and fresh air; wait for the time on its tube before the oil.",
		positions: func(sheet.Sheet) []record.Position { return placesCalled("cover", "sealant", "breather") },
		place:     "part",
		partial:   func(record.Capture) bool { return true },
		word:      func(record.Capture) string { return "yes" },
		Word:      func(record.Capture) string { return "yes" },
		example:   "yes, once it is so",
		parse: func(line string, _ float64) ([]frame.KeyedValue, error) {
			if word := strings.ToLower(strings.TrimSpace(line)); word != "y" && word != "yes" {
				return nil, errors.New("put it right first")
			}
			return []frame.KeyedValue{{Value: 1}}, nil
		},
		Typing: typing{
			Check: func(_ Feature, v float64) error {
				if v != 1 {
					return errors.New("put it right first, then type yes")
				}
				return nil
			},
			ask: func(_ Setup, at At) string { return closingParts[at.Position.Label] + " Type yes." },
		},
	}
}

// oilFill is a volume that is typed.
func oilFill() Feature {
	const title = "oil fill"
	return Feature{
		Feature: record.FeatureOf(record.FeatureOilFill),
		Caution: "Hot oil scalds; check the breather is free and the level plug is out while filling.",
		example: "a volume such as 1.9, 1900 ml or 2 qt (US)",
		Typing: typing{
			Check: notNegative,
			ask:   func(Setup, At) string { return "Type the litres of " + title + "." },
		},
	}
}
