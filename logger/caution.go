package logger

// cautions are shown once at the step where they matter, by feature.
var cautions = map[string]string{
	FeatureBacklash:       "Axle on rated stands, wheels off or free, nobody at the ignition; crown wheel teeth can take a finger.",
	FeatureRunoutFlange:   "Keep the indicator's arm clear of the turning gear.",
	FeatureRunoutBore:     "Keep the indicator's arm clear of the turning gear.",
	FeatureRunoutBackFace: "Keep the indicator's arm clear of the turning gear; no end play, or it is read as run-out.",
	FeatureWheelBolts:     "Locker and cleaner: gloves and fresh air. Never re-strike a bolt once the locker has set.",
	FeatureCapBolts:       "Caps back on their own side by their marks; the centre is heavy while they are off.",
	FeaturePreloadPinion:  "Shafts and brakes off; never back off a crush sleeve.",
	FeaturePreloadTotal:   "Shafts and brakes off; turn by hand only.",
	FeaturePatternDrive:   "Keep fingers and rags out of the mesh while it turns under load.",
	FeaturePatternCoast:   "Keep fingers and rags out of the mesh while it turns under load.",
	FeatureLeakDown:       "Vent the line before undoing a fitting; eye guard on.",
	FeatureEngagement:     "Wheels clear on stands, chocked, neutral, hands only.",
	FeatureOilFill:        "Hot oil scalds; check the breather is free and the level plug is out while filling.",
}
