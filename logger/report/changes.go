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
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// Compare compares each stage with the one measured before it and, with more
// than two, the last with the first, by what is said to have stayed the same. Until
// it is called nothing is.
func (d *Data) Compare(same analysis.Same) {
	rounds := d.backlash()
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
func changeBetween(from, to Measured, same analysis.Same, when string) StageChange {
	c := StageChange{From: from.Stage, To: to.Stage, Format: to.Format}
	const mixed = "in more than one way"
	readFrom, readTo := cmp.Or(sheet.ConventionWords(from.captures()), mixed), cmp.Or(sheet.ConventionWords(to.captures()), mixed)
	if readFrom == mixed || readFrom != readTo {
		c.Change, c.U = analysis.CompareStages(nil, nil, analysis.Same{}), math.NaN()
		c.Sentence = fmt.Sprintf("Cannot be compared: %s was measured %s, %s %s.", stageTitle(from.Stage), readFrom, stageTitle(to.Stage), readTo)
		return c
	}
	before, after := Each(from.captures(), feature.Point), Each(to.captures(), feature.Point)
	same.Mounting = same.Mounting && from.Results[0].Capture.Gauge == to.Results[0].Capture.Gauge // another one was set down
	c.Change = analysis.CompareStages(before, after, same)
	c.U = c.Change.K * c.Change.U
	c.Sentence = changeSentence(c, when)
	return c
}

// changeSentence says in words what happened to the backlash.
func changeSentence(c StageChange, when string) string {
	f, way := c.Format, "looser"
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
	alone := Each(c.moved(), func(p analysis.PositionChange) int { return p.Position })
	return fmt.Sprintf("The mean did not change beyond %s mm %s%s.", f.uncertainty(c.U), when,
		given(len(alone) > 0, "; "+words.Places("position", alone)+" did"))
}

// moved are the positions that moved by more than their uncertainty.
func (c StageChange) moved() []analysis.PositionChange {
	return slices.DeleteFunc(slices.Clone(c.Change.Positions), func(p analysis.PositionChange) bool { return !p.Significant })
}

// since is when a change up to a stage came about.
var since = map[string]string{
	record.StageBench: "when the crown wheel went on the new centre",
	record.StageSetUp: "when the backlash was set up",
	record.StageCaps:  "when the caps were torqued",
	record.StageFinal: "up to the final check",
}

// changeWhen names what came between a stage and the one measured before it.
func changeWhen(from, to string) string {
	if from == record.StageAsFound && to != record.StageBench && to != record.StageSetUp {
		return fromTo(from, to)
	}
	return cmp.Or(since[to], "by stage "+stageTitle(to))
}

func fromTo(from, to string) string { return "from " + stageTitle(from) + " to " + stageTitle(to) }

// WriteChanges prints the changes of d as text: one sentence a pair of stages,
// then the positions that moved by more than their uncertainty.
func WriteChanges(w io.Writer, d Data) error {
	var b strings.Builder
	if d.Sheet.Invented && len(d.Changes) > 0 {
		fmt.Fprintf(&b, "%s\n", inventedBanner)
	}
	for _, c := range d.Changes {
		f := c.Format
		fmt.Fprintf(&b, "%s - %s: %s\n", stageTitle(c.From), stageTitle(c.To), c.Sentence)
		for _, p := range c.moved() {
			fmt.Fprintf(&b, "  position %d moved by %s mm, from %s to %s (uncertainty %s)\n", p.Position,
				f.signed(p.Change), f.figure(p.From), f.quantity(p.To), f.uncertainty(gum.Coverage*p.U))
		}
	}
	_, err := io.WriteString(w, b.String())
	return err
}
