package feature

import (
	"errors"
	"strings"

	"crownlog/device/frame"
	"crownlog/logger/record"
)

var errMove = errors.New("a move is typed as -1, as far out 1, or as crown in 1 far out 0.5; without a unit; behind it not seated or reversed")

// ParseMove reads how the adjusters or the shims were moved: the crown wheel
// towards the pinion by a number with its sign, both sides alike, or what each
// side did, and whether it did not seat or was turned back on the way.
//
//	1   -0.5   far out 1   crown in 1 far out 0.5, not seated
//
// It has no Unit: see sheet.Sheet.MoveUnit.
func ParseMove(text string) (record.Move, error) {
	text = strings.NewReplacer("\u2212", "-", "crown-wheel", "crown", "side", "").Replace(strings.ToLower(text))
	var m record.Move
	text, m.Unseated = cutWords(text, "not seated")
	text, m.Reversed = cutWords(text, "reversed")
	sides, side, way := map[string]float64{}, "", ""
	for _, word := range strings.Fields(text) {
		switch word = strings.TrimRight(word, ","); word {
		case "":
		case "crown", "far":
			side = word
		case "in", "out":
			way = word
		default:
			v, unit, err := frame.ParseKeyed(word, 0)
			_, twice := sides[side]
			if err != nil || unit != "" || twice || way != "" && (v < 0 || side == "") {
				return record.Move{}, errMove
			}
			if way == "out" {
				v = -v
			}
			sides[side], way = v, ""
		}
	}
	if both := sides[""]; len(sides) == 0 || both != 0 && len(sides) > 1 || way != "" {
		return record.Move{}, errMove
	}
	m.Amount, m.Near, m.Far = sides[""], sides["crown"], sides["far"]
	if m == (record.Move{Unseated: m.Unseated, Reversed: m.Reversed}) {
		return record.Move{}, errMove
	}
	return m, nil
}

// cutWords takes words out of a text, and reports whether they were in it.
func cutWords(text, words string) (rest string, said bool) {
	before, after, said := strings.Cut(text, words)
	return before + after, said
}
