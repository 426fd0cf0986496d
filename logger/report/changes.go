package report

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/logger/feature"
	"crownlog/logger/record"
	"crownlog/logger/words"
)

// Compare compares each stage with the one measured before it and, with more
// than two, the last with the first, by what is said to have stayed the same. Until
// it is called nothing is.
func (d *Data) Compare(same analysis.Same) {
	rounds := d.Backlash
	d.Same, d.Changes = same, nil
	for i := 1; i < len(rounds); i++ {
		d.Changes = append(d.Changes, changeBetween(rounds[i-1], rounds[i], same, changeWhen(rounds[i-1].Stage, rounds[i].Stage)))
	}
	if n := len(rounds); n > 2 {
		d.Changes = append(d.Changes, changeBetween(rounds[0], rounds[n-1], same, fromTo(rounds[0].Stage, rounds[n-1].Stage)))
	}
}

// changeBetween compares two rounds; when says what lies between them. Rounds
// of different conventions are not compared: a spiral tooth reads a quarter more
// one way than the other.
func changeBetween(from, to Round, same analysis.Same, when string) StageChange {
	c := StageChange{From: from.Stage, To: to.Stage, Format: to.Format}
	if from.Convention == "" || from.Convention != to.Convention {
		const mixed = "in more than one way"
		c.Change, c.U = analysis.CompareStages(nil, nil, analysis.Same{}), math.NaN()
		c.Sentence = fmt.Sprintf("Cannot be compared: %s was measured %s, %s %s.", stageTitle(from.Stage), cmp.Or(from.Convention, mixed), stageTitle(to.Stage), cmp.Or(to.Convention, mixed))
		return c
	}
	before, after := each(from.captures(), feature.Point), each(to.captures(), feature.Point)
	same.Mounting = same.Mounting && from.Results[0].Capture.Gauge == to.Results[0].Capture.Gauge // another one was set down
	c.Change = analysis.CompareStages(before, after, same)
	c.U = c.Change.K * c.Change.U
	c.Sentence = changeSentence(c, when)
	unparted := func(p analysis.RoundPoint) bool { return p.Hand == 0 }
	if (same.Hand || same.Mounting) && (slices.ContainsFunc(before, unparted) || slices.ContainsFunc(after, unparted)) {
		c.Sentence += " What the hand has part in was not recorded yet: all of it counts as another's."
	}
	return c
}

// changeSentence says in words what happened to the backlash.
func changeSentence(c StageChange, when string) string {
	f, way := c.Format.finer(), "looser"
	if c.Change.Mean < 0 {
		way = "tighter"
	}
	by := f.quantity(math.Abs(c.Change.Mean))
	switch {
	case math.IsNaN(c.Change.Mean):
		return "Cannot be compared: no position was measured in both stages."
	case math.IsNaN(c.U):
		return fmt.Sprintf("%s %s as read, uncertainty unknown %s.", by, way, when)
	case c.Change.Significant:
		return fmt.Sprintf("Moved by %s %s, %s.", by, when, way)
	}
	return fmt.Sprintf("The mean did not change beyond %s mm %s%s.", f.uncertainty(c.U), when, movedAlone(c.Change.Positions))
}

// movedAlone names the positions that moved though the mean did not: "; position
// 3 did".
func movedAlone(positions []analysis.PositionChange) string {
	var moved []int
	for _, p := range positions {
		if p.Significant {
			moved = append(moved, p.Position)
		}
	}
	return given(len(moved) > 0, "; "+words.Places("position", moved)+" did")
}

// changeWhen names what came between a stage and the one measured before it.
func changeWhen(from, to string) string {
	if from == record.StageAsFound && to != record.StageBench && to != record.StageSetUp {
		return fromTo(from, to)
	}
	return cmp.Or(stageWords[to].since, "by stage "+stageTitle(to))
}

func fromTo(from, to string) string {
	return "from " + stageTitle(from) + " to " + stageTitle(to)
}

// WriteChanges prints the changes of d as text: one sentence a pair of stages,
// then the positions that moved by more than their uncertainty.
func WriteChanges(w io.Writer, d Data) error {
	var b strings.Builder
	if d.Sheet.Invented && len(d.Changes) > 0 {
		fmt.Fprintf(&b, "%s\n", inventedBanner)
	}
	for _, c := range d.Changes {
		f := c.Format.finer()
		fmt.Fprintf(&b, "%s - %s: %s\n", stageTitle(c.From), stageTitle(c.To), c.Sentence)
		for _, p := range c.Change.Positions {
			if p.Significant {
				fmt.Fprintf(&b, "  position %d moved by %s mm, from %s to %s (uncertainty %s)\n", p.Position,
					f.signed(p.Change), f.figure(p.From), f.quantity(p.To), f.uncertainty(gum.Coverage*p.U))
			}
		}
	}
	if _, err := io.WriteString(w, b.String()); err != nil {
		return fmt.Errorf("write changes: %w", err)
	}
	return nil
}
