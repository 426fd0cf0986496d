package logger

// oilFill is a volume that is typed.
func oilFill() measurable {
	const title = "oil fill"
	return measurable{
		Feature: FeatureOf(FeatureOilFill),
		caution: "Hot oil scalds; check the breather is free and the level plug is out while filling.",
		example: "a volume such as 1.9, 1900 ml or 2 qt (US)",
		typing: typing{
			check: notNegative,
			ask:   func(Setup, At) string { return "Type the litres of " + title + "." },
		},
	}
}
