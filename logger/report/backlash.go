package report

import (
	"fmt"
	"slices"
	"strings"

	"crownlog/logger/record"
	"crownlog/logger/words"
)

// widestRow is how many positions fit across the page.
const widestRow = 10

// backlashSection has a row a stage and a column a position, over several tables
// where there are many; the first has what is of all of them.
func backlashSection(d Data) section {
	s := section{Title: "Backlash around the wheel, stage by stage"}
	rounds := d.backlash()
	all := slices.Concat(Each(rounds, Measured.captures)...) // one of each position
	byPosition := func(a, b record.Capture) int { return a.Position - b.Position }
	slices.SortStableFunc(all, byPosition)
	all = slices.CompactFunc(all, func(a, b record.Capture) bool { return a.Position == b.Position })
	caption := "Backlash in mm by position, each with its own verdict; the stage's verdict follows the entered acceptance rule. Bold: tightest and loosest. 1×, 2×: the part that repeats once and twice around the wheel, from its lowest to its highest."
	for part := range slices.Chunk(all, widestRow) {
		first := len(s.Rows) == 0
		t := &table{Caption: caption, Columns: []column{{"Stage", false}}}
		for _, c := range part {
			t.Columns = append(t.Columns, column{fmt.Sprintf("%d (%.0f°)", c.Position, c.AngleDeg), true})
		}
		if first {
			t.Columns = append(t.Columns, column{"Mean", true}, column{"Spread", true}, column{"1× / 2×", true}, column{"Verdict", false})
		}
		for _, m := range rounds {
			line := []entry{{Text: stageTitle(m.Stage), Strong: true}}
			for _, c := range part {
				line = append(line, positionEntry(m, c.Position))
			}
			if f := m.Format; first {
				h := f.figure(m.Round.H1.Movement()) + given(m.Round.H2Known, " / "+f.figure(m.Round.H2.Movement()))
				line = append(line, plain(f.figure(m.Round.Mean)), plain(f.figure(m.Round.Spread)), plain(h), judged(m.Verdict, m.Verdict.String()))
			}
			t.Rows = append(t.Rows, line)
		}
		s.Rows, caption = append(s.Rows, row{{Share: 1, Table: t}}), "continued"
	}
	if notes := roundNotes(rounds); len(notes) > 0 {
		s.Rows = append(s.Rows, row{{Share: 1, Lines: notes}})
	}
	return s
}

func positionEntry(m Measured, position int) entry {
	for _, p := range m.Results {
		if p.Capture.Position == position {
			e := judged(p.Verdict, m.Format.figure(p.Capture.Value))
			e.Strong = position == m.Round.Tightest.Position || position == m.Round.Loosest.Position
			return e
		}
	}
	return plain(missing)
}

// roundNotes says what the table cannot.
func roundNotes(rounds []Measured) []string {
	var lines []string
	for _, m := range rounds {
		stage := upperFirst(stageTitle(m.Stage))
		if len(m.Round.Missing) > 0 {
			lines = append(lines, stage+": not measured at "+words.Places("position", m.Round.Missing)+".")
		}
		for _, c := range m.captures() {
			if !slices.Contains([]string{record.QualityOK, record.QualityKeyed, ""}, c.Quality) {
				lines = append(lines, fmt.Sprintf("%s, position %d: %s.", stage, c.Position, strings.ReplaceAll(c.Quality, "+", ", ")))
			}
		}
	}
	return lines
}
