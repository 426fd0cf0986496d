package logger

// A featureKind is the way a feature is measured.
type featureKind int

const (
	kindRocking featureKind = iota + 1 // rock at each position
	kindRunout                         // one level at each position, or a steady turn
	kindBolts                          // one pull for each bolt and pass
	kindTurning                        // torque while turning
	kindLeak                           // pressure over time
	kindPattern                        // where the contact lies: along, then up
	kindCount                          // one keyed value for each position
	kindText                           // words only: recorded, not measured
)

// kinds says how each feature is measured.
var kinds = map[string]featureKind{
	FeatureBacklash:       kindRocking,
	FeatureRunoutFlange:   kindRunout,
	FeatureRunoutBore:     kindRunout,
	FeatureWheelBolts:     kindBolts,
	FeatureRunoutBackFace: kindRunout,
	FeaturePreloadPinion:  kindTurning,
	FeaturePreloadTotal:   kindTurning,
	FeaturePatternDrive:   kindPattern,
	FeaturePatternCoast:   kindPattern,
	FeatureCapBolts:       kindBolts,
	FeatureLeakDown:       kindLeak,
	FeatureEngagement:     kindCount,
	FeatureOilFill:        kindCount,
	FeatureMove:           kindText,
	FeatureNote:           kindText,
	FeatureOverride:       kindText,
}

// kindOf is how a feature is measured, 0 for an unknown one.
func kindOf(name string) featureKind { return kinds[name] }

// A roundFeature is a feature with how it is measured.
type roundFeature struct {
	feature
	kind featureKind
}

func roundFeatureOf(name string) roundFeature { return roundFeature{featureOf(name), kindOf(name)} }

// ReadIn reports whether a feature can be measured with a gauge that reads in
// unit: an air test is read as a pressure though it is kept as a rate. "" is a
// gauge that names its units itself.
func ReadIn(name, unit string) bool {
	f := roundFeatureOf(name)
	switch f.kind {
	case kindRocking, kindRunout, kindBolts, kindTurning, kindLeak:
	default:
		return false
	}
	_, err := readingFeature(f, false).convert(0, unit)
	return err == nil
}
