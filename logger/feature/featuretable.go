package feature

import "crownlog/logger/record"

// The table is filled in by init, for what it holds looks into it.
func init() {
	const arm = "Keep the indicator's arm clear of the turning gear"
	for _, f := range []Feature{
		backlash(),
		runOut(record.FeatureRunoutFlange, arm+"."),
		runOut(record.FeatureRunoutBore, arm+"."),
		bolts(record.FeatureWheelBolts, "Locker and cleaner: gloves and fresh air. Never re-strike a bolt once the locker has set."),
		runOut(record.FeatureRunoutBackFace, arm+"; no end play, or it is read as run-out."),
		preload(record.FeaturePreloadPinion, "Shafts and brakes off; never back off a crush sleeve."),
		preload(record.FeaturePreloadTotal, "Shafts and brakes off; turn by hand only."),
		pattern(record.FeaturePatternDrive),
		pattern(record.FeaturePatternCoast),
		bolts(record.FeatureCapBolts, "Caps back on their own side by their marks; the centre is heavy while they are off."),
		leakDown(),
		engagement(),
		oilFill(),
	} {
		measurables[f.Name] = f
	}
}

// NewMeasurer picks the way the feature is measured.
func (f Feature) NewMeasurer(s Setup, whole bool) Measurer {
	switch {
	case f.AsTyped(s.Keyed):
		return f.typed(s)
	case s.Keyed || f.gauged == nil:
		return newEntry(s)
	case whole && f.AsWhole != nil:
		return keyable{f.AsWhole(s), newEntry(s)}
	}
	return keyable{f.gauged(s), newEntry(s)}
}
