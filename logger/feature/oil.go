package feature

import "crownlog/logger/record"

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
