package report

import (
	"fmt"
	"slices"
	"strings"

	"crownlog/logger/record"
	"crownlog/logger/words"
)

// backlashSection is the polar picture of every stage and the figures.
func backlashSection(d Data) section {
	if len(d.Backlash) == 0 {
		return section{}
	}
	s := section{Title: "Backlash around the wheel, stage by stage"}
	if len(d.Backlash) > 1 {
		scale := backlashScale(d.Backlash, polarSmall)
		var pictures row
		for _, r := range d.Backlash {
			p := polarPicture(r, nil, scale, polarSmall)
			p.caption(stageTitle(r.Stage) + ", mean " + r.Format.finer().quantity(r.Round.Mean))
			pictures = append(pictures, panel{Share: 1, Picture: p})
		}
		for len(pictures) < leastWheels {
			pictures = append(pictures, panel{Share: 1})
		}
		s.Rows = append(s.Rows, pictures)
	}
	s.Rows = append(s.Rows, backlashRows(d.Backlash)...)
	if notes := roundNotes(d.Backlash); len(notes) > 0 {
		s.Rows = append(s.Rows, row{{Share: 1, Lines: notes}})
	}
	return s
}

// leastWheels keeps two or three wheels from growing over the whole width.
const leastWheels = 4

// widestRow is how many positions fit across the page.
const widestRow = 10

// backlashRows have a row a stage and a column a position, over several tables where
// there are many; the first has what is of all of them.
func backlashRows(rounds []Round) []row {
	var rows []row
	caption := "Backlash in mm by position, each with its own verdict; the stage's verdict follows the entered acceptance rule. Bold: tightest and loosest. 1×, 2×: the part that repeats once and twice around the wheel, from its lowest to its highest."
	var all []record.Capture // one of each position
	for _, r := range rounds {
		for _, c := range r.captures() {
			if !slices.ContainsFunc(all, func(o record.Capture) bool { return o.Position == c.Position }) {
				all = append(all, c)
			}
		}
	}
	slices.SortFunc(all, func(a, b record.Capture) int { return a.Position - b.Position })
	for part := range slices.Chunk(all, widestRow) {
		t := &table{Caption: caption, Columns: []column{{"Stage", false}}}
		for _, c := range part {
			t.Columns = append(t.Columns, column{fmt.Sprintf("%d (%.0f°)", c.Position, c.AngleDeg), true})
		}
		for _, r := range rounds {
			line := []entry{{Text: stageTitle(r.Stage), Strong: true}}
			for _, c := range part {
				line = append(line, positionEntry(r, c.Position))
			}
			if len(rows) == 0 {
				h := r.Format.figure(r.Round.H1.Movement())
				if r.Round.H2Known {
					h += " / " + r.Format.figure(r.Round.H2.Movement())
				}
				line = append(line, plain(r.Format.finer().figure(r.Round.Mean)), plain(r.Format.figure(r.Round.Spread)), plain(h), judged(r.Verdict, r.Verdict.String()))
			}
			t.Rows = append(t.Rows, line)
		}
		if len(rows) == 0 {
			t.Columns = append(t.Columns, column{"Mean", true}, column{"Spread", true}, column{"1× / 2×", true}, column{"Verdict", false})
		}
		rows, caption = append(rows, row{{Share: 1, Table: t}}), "continued"
	}
	return rows
}

func positionEntry(r Round, position int) entry {
	for _, p := range r.Results {
		if p.Capture.Position == position {
			e := judged(p.Verdict, r.Format.figure(p.Capture.Value))
			e.Strong = position == r.Round.Tightest.Position || position == r.Round.Loosest.Position
			return e
		}
	}
	return plain(missing)
}

const boundWords = "an upper bound, for the wheel never rested at its stops"

// roundNotes says what the table cannot.
func roundNotes(rounds []Round) []string {
	var lines []string
	for _, r := range rounds {
		if len(r.Round.Missing) > 0 {
			lines = append(lines, upperFirst(stageTitle(r.Stage))+": not measured at "+words.Places("position", r.Round.Missing)+".")
		}
		for _, p := range r.Results {
			if c := p.Capture; c.Quality != record.QualityOK && c.Quality != record.QualityKeyed && c.Quality != "" {
				lines = append(lines, fmt.Sprintf("%s, position %d: %s.", upperFirst(stageTitle(r.Stage)), c.Position, strings.NewReplacer("+", ", ", record.QualityBound, boundWords).Replace(c.Quality)))
			}
		}
	}
	return lines
}
