package record

import "slices"

// An outdating is one kind of work on the axle, with what has to be measured
// again after it.
type outdating struct {
	by    []string // features whose captures say that the work was done
	in    string   // the stage they have to be of; "": any
	makes []string // features that it makes stale,
	of    []string // in these stages only; nil: in all
}

// outdatings is what makes what stale, wherever it was measured before. As found
// and the dry fit-up are left out of it: both say how the axle was at that time.
// Common practice, no source.
var outdatings = []outdating{
	// The caps are slackened to move an adjuster.
	{by: []string{FeatureMove}, makes: []string{FeatureBacklash, FeaturePatternDrive, FeaturePatternCoast, FeatureCapBolts, FeaturePreloadTotal}},
	// The wheel is bolted on with the centre out of the axle.
	{by: []string{FeatureWheelBolts}, makes: []string{
		FeatureRunoutBackFace, FeatureBacklash, FeaturePatternDrive, FeaturePatternCoast,
		FeatureCapBolts, FeaturePreloadTotal, FeatureLeakDown, FeatureEngagement,
	}},
	// Caps under torque shift the cups; what was measured with them snug stays.
	{by: []string{FeatureCapBolts}, makes: []string{FeatureBacklash, FeaturePreloadTotal, FeatureLeakDown, FeatureEngagement}, of: []string{StageCaps, StageFinal}},
	// A wheel that is fitted up dry once more came off its bolts.
	{by: []string{FeatureRunoutBackFace}, in: StageFitUp, makes: []string{FeatureWheelBolts}},
	// None of these can be reached through a closed cover, and the oil comes out
	// before it.
	{
		by:    []string{FeatureMove, FeatureWheelBolts, FeatureCapBolts, FeatureBacklash, FeaturePatternDrive, FeaturePatternCoast},
		makes: []string{FeatureCloseUp, FeatureOilFill},
	},
	{by: []string{FeatureCloseUp}, makes: []string{FeatureOilFill}},
	// Lock plates are off, and the wheel or the caps apart, for any of these.
	{by: []string{FeatureMove, FeatureWheelBolts, FeatureCapBolts}, makes: []string{FeatureCheck}, of: []string{StageCaps, StageFinal}},
}

// outdates reports whether c is of work that makes a feature stale in a stage.
func outdates(c *Capture, stage, name string) bool {
	return stage != StageAsFound && stage != StageFitUp && slices.ContainsFunc(outdatings, func(o outdating) bool {
		return slices.Contains(o.by, c.Feature) && (o.in == "" || o.in == c.Stage) &&
			slices.Contains(o.makes, name) && (o.of == nil || slices.Contains(o.of, stage))
	})
}

// StaleSince is the last work on the axle that puts out of date what was measured
// of a feature in a stage before; false where there is none. Work that was taken
// back was not done; work that was done over again was done both times.
func StaleSince(cs []Capture, stage, name string) (work Capture, ok bool) {
	var undone []int
	for i := len(cs) - 1; i >= 0; i-- {
		c := &cs[i]
		if c.Supersedes > 0 && (c.Quality == QualityRejected || c.Quality == QualityLost) {
			undone = append(undone, c.Supersedes)
		}
		if c.Quality != QualityRejected && outdates(c, stage, name) && !slices.Contains(undone, c.ID) {
			return *c, true
		}
	}
	return Capture{}, false
}

// Valid is Active for one feature in one stage, without what work on the axle has
// put out of date since.
func Valid(cs []Capture, stage, name string) []Capture {
	work, _ := StaleSince(cs, stage, name)
	return slices.DeleteFunc(ActiveOf(cs, stage, name), func(c Capture) bool { return c.ID < work.ID })
}

// Emptied is the work on the axle that put out of date all that was measured of a
// feature in a stage; false where something stands, or nothing was measured.
func Emptied(cs []Capture, stage, name string) (work Capture, ok bool) {
	active := ActiveOf(cs, stage, name)
	if len(active) == 0 {
		return Capture{}, false
	}
	work, ok = StaleSince(cs, stage, name)
	return work, ok && active[len(active)-1].ID < work.ID
}

// IsPattern reports whether a feature is a contact pattern.
func IsPattern(name string) bool { return name == FeaturePatternDrive || name == FeaturePatternCoast }
