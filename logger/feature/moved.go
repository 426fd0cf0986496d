package feature

import (
	"errors"
	"regexp"
	"strings"

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
	var m record.Move
	text = strings.NewReplacer("\u2212", "-", "crown-wheel", "crown", "side", "").Replace(strings.ToLower(text))
	text, m.Unseated = cutWords(text, "not seated")
	text, m.Reversed = cutWords(text, "reversed")
	to := map[string]*float64{"": &m.Amount, "crown": &m.Near, "far": &m.Far}
	for text = strings.Trim(text, " ,"); text != ""; {
		part := movePart.FindStringSubmatch(text)
		if part == nil {
			return record.Move{}, errMove
		}
		side, way := to[part[1]], part[2]
		v, _, err := parseKeyed(strings.TrimRight(part[3], ","), 0)
		if err != nil || *side != 0 || way != "" && (v < 0 || part[1] == "") {
			return record.Move{}, errMove
		}
		if *side = v; way == "out" {
			*side = -v
		}
		text = text[len(part[0]):]
	}
	if apart := m.Near != 0 || m.Far != 0; apart == (m.Amount != 0) { // both or neither
		return record.Move{}, errMove
	}
	return m, nil
}

// movePart is one number of a move: of which side, which way, how much.
var movePart = regexp.MustCompile(`^(?:(crown|far)\s+)?(?:(in|out)\s+)?([-+]?[\d.,/]+)[\s,]*`)

// cutWords takes words out of a text, and reports whether they were in it.
func cutWords(text, words string) (rest string, said bool) {
	before, after, said := strings.Cut(text, words)
	return before + after, said
}
