package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// boltWords says how many bolts are tight, and what they should have.
func boltWords(b BoltCircle) string {
	tight, s := b.tight()
	f := b.Format
	return fmt.Sprintf("%d of %d bolts", tight, len(b.Bolts)) +
		given(tight > 0, fmt.Sprintf(", %s to %s", f.figure(s.low), f.quantity(s.high))) +
		fmt.Sprintf("; target %s, %s to %s.", f.figure(b.List.TargetNm()), f.figure(b.Spec.Limits.Lower), f.figure(b.Spec.Limits.Upper))
}

// boltSection has every torque as a figure, with its verdict.
func boltSection(d Data) section {
	s := section{Title: "Bolt torque in sequence"}
	for _, b := range d.Bolts {
		s.Rows = append(s.Rows, boltRows(b)...)
	}
	return s
}

// widestBolts is how many columns of torques fit across the page.
const widestBolts = 12

// boltRows has a column a bolt in tightening order, with its final torque, and the
// largest of their uncertainties in the caption.
func boltRows(b BoltCircle) []row {
	f, target := b.Format, b.List.TargetNm()
	caption := upperFirst(b.title()) + ", " + stageTitle(b.Stage) + ": final torque in tightening order, " + f.Unit + f.doubt(b.expanded())
	var rows []row
	for part := range slices.Chunk(b.Bolts, widestBolts) {
		t := &table{Caption: caption, Columns: []column{{"Bolt", false}}, Rows: [][]entry{{plain("Torque")}, {plain("Off the target")}}}
		for _, bolt := range part {
			t.Columns = append(t.Columns, column{strconv.Itoa(bolt.Number), true})
			t.Rows[0] = append(t.Rows[0], judged(bolt.Verdict, f.figure(bolt.torque())))
			t.Rows[1] = append(t.Rows[1], plain(f.signed(bolt.torque()-target)))
		}
		rows, caption = append(rows, row{{Share: 1, Table: t}}), "continued"
	}
	rows[len(rows)-1][0].Lines = boltNotes(b)
	return rows
}

// boltNotes are the facts of a bolt list that matter later.
func boltNotes(b BoltCircle) []string {
	lines := dropEmpty(upperFirst(b.title())+": "+boltWords(b), given(b.List.LeftHand, "Left-hand threads."),
		given(b.List.OneTime, "One-time bolts: new ones at every removal."),
		given(b.List.AngleDeg > 0, fmt.Sprintf("Then turned on by %g°: the torques are those before it.", b.List.AngleDeg)),
		given(b.List.ThreadLocker, "Thread-locker: no re-strike once it has set."))
	for _, bolt := range b.Bolts {
		if math.IsNaN(bolt.torque()) {
			lines = append(lines, fmt.Sprintf("Bolt %d: no torque on record.", bolt.Number))
		}
	}
	return lines
}
