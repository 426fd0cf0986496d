package logger

// readingFeature is the feature as its gauge sends it: an air test is captured
// as a rate but read as a pressure, unless the rate itself is keyed.
func readingFeature(f roundFeature, keyed bool) roundFeature {
	if f.kind == kindLeak && !keyed {
		f.unit, f.quantity = "kPa", "pressure"
	}
	return f
}

// newMeasurer picks the way the feature is measured.
func (r *Round) newMeasurer() measurer {
	switch {
	case r.feat.name == FeatureEngagement:
		return engageMeasure{r}
	case r.cfg.Keyed && r.feat.kind == kindLeak:
		return &airMeasure{r: r}
	case r.cfg.Keyed:
		return keyedMeasure{r}
	}
	switch r.feat.kind {
	case kindRocking:
		return newRockMeasure(r)
	case kindRunout:
		if r.cfg.Continuous {
			return &turnMeasure{r: r}
		}
		return newLevelMeasure(r)
	case kindBolts:
		return newBoltMeasure(r)
	case kindTurning:
		return &preloadMeasure{r: r}
	case kindLeak:
		return newLeakMeasure(r)
	}
	return keyedMeasure{r}
}
