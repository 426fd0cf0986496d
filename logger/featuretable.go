package logger

// The table is filled in by init, for what it holds looks into it.
func init() {
	const arm = "Keep the indicator's arm clear of the turning gear"
	for _, f := range []measurable{
		backlash(),
		runOut(FeatureRunoutFlange, arm+"."),
		runOut(FeatureRunoutBore, arm+"."),
		bolts(FeatureWheelBolts, "Locker and cleaner: gloves and fresh air. Never re-strike a bolt once the locker has set."),
		runOut(FeatureRunoutBackFace, arm+"; no end play, or it is read as run-out."),
		preload(FeaturePreloadPinion, "Shafts and brakes off; never back off a crush sleeve."),
		preload(FeaturePreloadTotal, "Shafts and brakes off; turn by hand only."),
		pattern(FeaturePatternDrive),
		pattern(FeaturePatternCoast),
		bolts(FeatureCapBolts, "Caps back on their own side by their marks; the centre is heavy while they are off."),
		leakDown(),
		engagement(),
		oilFill(),
	} {
		measurables[f.name] = f
	}
}

// newMeasurer picks the way the feature is measured.
func (f measurable) newMeasurer(s Setup, whole bool) Measurer {
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
