package feature

import (
	"cmp"
	"fmt"
	"strings"

	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// table is every feature that is measured, by name.
var table = make(map[string]Feature)

func init() {
	const arm = "Keep the indicator's arm clear of the turning gear"
	const mesh = "Keep fingers and rags out of the mesh while it turns under load."
	for _, row := range []struct {
		name, caution string
		how           Feature
	}{
		{record.FeatureBacklash, "Axle on rated stands, wheels off or free, nobody at the ignition; crown wheel teeth can take a finger.", backlash()},
		{record.FeatureSnug, "Caps to snug only, threads free, after they are marked; the centre is heavy.", capsSnug()},
		{record.FeatureRunoutFlange, arm + ".", runOut("Plunger square to the flange, at the bolt holes.")},
		{record.FeatureRunoutBore, arm + ".", runOut("Plunger square to the wall of the bore.")},
		{record.FeatureWheelBolts, "Locker and cleaner: gloves and fresh air. Never re-strike a bolt once the locker has set.", bolts()},
		{record.FeatureRunoutBackFace, arm + "; no end play, or it is read as run-out.", runOut("Plunger square to the back face, near its edge.")},
		{record.FeaturePreloadPinion, "Shafts and brakes off; never back off a crush sleeve.", preload()},
		{record.FeaturePreloadTotal, "Shafts and brakes off; turn by hand only.", preload()},
		{record.FeaturePatternDrive, mesh, pattern()},
		{record.FeaturePatternCoast, mesh, pattern()},
		{record.FeatureCapBolts, "Caps back on their own side by their marks; the centre is heavy while they are off.", bolts()},
		{record.FeatureLeakDown, "Vent the line before undoing a fitting; eye guard on.", leakDown()},
		{record.FeatureEngagement, "Wheels clear on stands, chocked, neutral, hands only.", engagement()},
		{record.FeatureCloseUp, "Sealant: gloves and fresh air; wait for the time on its tube before the oil.", closeUp()},
		{record.FeatureOilFill, "Hot oil scalds; check the breather is free and the level plug is out while filling.", oilFill()},
	} {
		row.how.Feature, row.how.Caution = record.FeatureOf(row.name), row.caution
		table[row.name] = row.how
	}
}

// Find finds how a feature is measured; false for an unknown one, and for
// one that is only written down.
func Find(name string) (Feature, bool) {
	f, ok := table[name]
	return f, ok
}

// Caution is what is shown once at the step where a feature is measured.
func Caution(name string) string { return table[name].Caution }

// Lacks says what the sheet must have before a feature can be measured; nil
// where it has it. Only bolts have no usual number of places.
func Lacks(s sheet.Sheet, name string) error {
	if len(Positions(s, name)) > 0 {
		return nil
	}
	return fmt.Errorf("job.toml lists no %s: add a [[bolts]] table with feature %q", record.Title(name), name)
}

// ReadIn reports whether a feature can be measured with a gauge that reads in
// unit: an air test is read as a pressure though it is kept as a rate. "" is a
// gauge that names its units itself.
func ReadIn(name, unit string) bool {
	f := table[name]
	if f.gauged == nil {
		return false
	}
	_, err := f.AsRead(false).Convert(0, unit)
	return err == nil
}

// Positions lists the places a round of the feature visits by the sheet, in
// order of position. A feature measured as a whole has one place with index 0.
func Positions(s sheet.Sheet, name string) []record.Position { return named(name).places(s) }

// named is the feature of a name; of an unknown one the name is all that is known.
func named(name string) Feature {
	f := table[name]
	f.Name = name
	return f
}

// Amount writes a value of a feature with its unit, in usual decimals; a length as the
// manual of the sheet writes it.
func Amount(s sheet.Sheet, name string, v float64) string {
	f := named(name)
	if f.Quantity == "length" {
		return s.Length(v)
	}
	return f.Amount(v, f.Decimals())
}

// FailureOf says how a capture that is outside by itself failed: "cycle 3: did
// not lock", "bolt 2: 112.0 N·m was outside".
func FailureOf(s sheet.Sheet, c record.Capture) string {
	f := named(c.Feature)
	place := ""
	if c.Position > 0 {
		place = fmt.Sprintf("%s %d: ", cmp.Or(f.place, "position"), c.Position)
	}
	if TryFailed(c) {
		return place + tryFailures[c.Quality]
	}
	return place + Amount(s, c.Feature, c.Value) + " was outside"
}

// Assess says what the captures of a job, superseded ones too, tell of a feature
// in a stage. It is the one judge of the program. An unknown feature has
// nothing measured and no window.
func Assess(s sheet.Sheet, cs []record.Capture, stage, name string) Assessment {
	a := AssessRound(s, record.Valid(cs, stage, name), cs, stage, name)
	if work, ok := record.Emptied(cs, stage, name); ok {
		a.reason = reason{becauseOfWork, "not measured since " + words.Work(work.Feature)}
	}
	return a
}

// AssessRound is Assess on the captures that count, as a round that is made anew
// counts its own only; all are those of the job.
func AssessRound(s sheet.Sheet, counted, all []record.Capture, stage, name string) Assessment {
	return named(name).assessRound(NewJudge(s.InStage(stage), name), counted, all, stage)
}

// NewJudge is the judge of a feature's captures by the window of a sheet; one of
// an unknown feature decides nothing.
func NewJudge(s sheet.Sheet, name string) Judge {
	return Judge{sheet: s, feature: table[name], Spec: s.Window(name), factors: s.WindowFactors(name)}
}

// ParseTyped reads a line typed for a feature. It is one value, but for an air
// test, which may be given whole in one line,
//
//	690 688 kPa 10 min     6.9 bar 20 C 6.88 bar 21 C 10 min
//
// where a number without a unit has that of the next one; and for a try of the
// lock: see parseTry. division is the size of one division of the dial in the
// feature's unit, 0 where that is not known. The error says what is wrong with
// the line and what is wanted.
func ParseTyped(name, line string, division float64) ([]frame.KeyedValue, error) {
	f := table[name]
	if f.Quantity != "length" {
		division = 0
	}
	var values []frame.KeyedValue
	var err error
	if f.parse != nil {
		values, err = f.parse(line, division)
	} else if values, err = parseOne(line, division); err == nil && values[0].Unit == "" && strings.Contains(strings.ToLower(line), "div") {
		values[0].Unit = f.Unit // a division has the gauge's unit, whatever the manual is in
	}
	if err != nil {
		return nil, fmt.Errorf("%w: want %s", err, cmp.Or(f.example, "one value such as 0.18, 0,18 mm, 7 thou or 3 1/2 div"))
	}
	return values, nil
}

// Card says how a dial is set up for a feature, one short line for each thing
// the hands do, in their order. It is to be read before the first rock or turn; nil
// for what no dial measures.
func Card(s sheet.Sheet, name string) []string {
	const base = "Base on the housing. Short arm. All screws tight."
	const mark = "Paint tooth 1, and the housing beside it."
	const pressed = "Press the plunger in about 1 mm (0.04 in)."
	switch where := table[name].where; {
	case name == record.FeatureBacklash:
		return []string{
			base, "Plunger on the heel: outer end of a drive tooth.", plungerWay(s.Plunger), pressed,
			"Hold the pinion. It must not turn.", mark,
		}
	case where != "":
		return []string{base, where, pressed, "No end play: push the carrier to one side.", mark}
	}
	return nil
}

// plungerWays are the directions of a plunger at a tooth.
var plungerWays = map[string]string{"normal": "square to the tooth face", "transverse": "in line with its movement"}

// plungerWay says how the plunger meets the tooth by the sheet, and whether the
// manual means it so. The two read up to a third apart.
func plungerWay(p sheet.Plunger) string {
	set, meant := plungerWays[p.Measured], plungerWays[p.Spec]
	switch {
	case set == "" && meant == "":
		return "In line with its movement. Or square to its face? The manual says."
	case set != "" && meant != "" && set != meant:
		return Capitalise(set) + ". The manual means: " + meant + ". The value is converted."
	case meant == "":
		return Capitalise(set) + ". What the manual means is not known here."
	}
	return Capitalise(cmp.Or(set, meant)) + ", as the manual means it."
}
