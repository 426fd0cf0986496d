package feature

import (
	"cmp"

	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

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
