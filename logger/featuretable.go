package logger

// The table is filled in by init, for what it holds looks into it.
func init() {
	const arm = "Keep the indicator's arm clear of the turning gear"
	featureOrder = []feature{
		backlash(),
		runout(FeatureRunoutFlange, "run-out of the carrier flange", arm+"."),
		runout(FeatureRunoutBore, "run-out of the pilot", arm+"."),
		bolts(FeatureWheelBolts, "crown wheel bolts", "Locker and cleaner: gloves and fresh air. Never re-strike a bolt once the locker has set."),
		runout(FeatureRunoutBackFace, "run-out of the back face", arm+"; no end play, or it is read as run-out."),
		preload(FeaturePreloadPinion, "pinion preload", "Shafts and brakes off; never back off a crush sleeve."),
		preload(FeaturePreloadTotal, "total preload", "Shafts and brakes off; turn by hand only."),
		pattern(FeaturePatternDrive, "contact pattern, drive flank"),
		pattern(FeaturePatternCoast, "contact pattern, coast flank"),
		bolts(FeatureCapBolts, "bearing cap bolts", "Caps back on their own side by their marks; the centre is heavy while they are off."),
		leakDown(),
		engagement(),
		oilFill(),
		{name: FeatureMove, title: "adjuster move", kind: kindText},
		{name: FeatureNote, title: "note", kind: kindText},
		{name: FeatureOverride, title: "hold point overridden", kind: kindText},
	}
	for _, f := range featureOrder {
		features[f.name] = f
	}
}

// newMeasurer picks the way the feature is measured.
func (f feature) newMeasurer(s Setup, whole bool) Measurer {
	switch {
	case f.asTyped(s.Keyed):
		return f.typed(s)
	case s.Keyed || f.gauged == nil:
		return newEntry(s)
	case whole && f.asWhole != nil:
		return keyable{f.asWhole(s), newEntry(s)}
	}
	return keyable{f.gauged(s), newEntry(s)}
}
