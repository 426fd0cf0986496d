package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"crownlog/analysis/gum"
	"crownlog/logger/record"
)

// bolts puts the final pulls of m into the order of the sequence.
func (d Data) bolts(m Measured) []Bolt {
	list, _ := d.Sheet.BoltList(m.Feature)
	valid := record.Valid(d.captures, m.Stage, m.Feature)
	var bolts []Bolt
	for _, number := range list.Order() {
		of := func(c record.Capture) bool { return c.Position == number }
		b := Bolt{Number: number}
		b.Capture.Value, b.Capture.U, b.Verdict = math.NaN(), math.NaN(), gum.NotDecided
		if i := slices.IndexFunc(m.captures(), of); i >= 0 {
			b.Result = m.Results[i]
		}
		for _, c := range valid {
			if of(c) {
				b.Pulls++
			}
		}
		bolts = append(bolts, b)
	}
	return bolts
}

// torques says how many bolts are tight, and from where to where.
func (d Data) torques(m Measured) string {
	bolts := d.bolts(m)
	tight := slices.DeleteFunc(each(bolts, Bolt.torque), math.IsNaN)
	low, high := extent(tight)
	return fmt.Sprintf("%d of %d", len(tight), len(bolts)) + given(len(tight) > 0, ", "+m.Format.figure(low)+" to "+m.Format.figure(high))
}

// boltSection has every torque as a figure, with its verdict.
func boltSection(d Data) section {
	s := section{Title: "Bolt torque in sequence"}
	for _, m := range d.of(boltLists...) {
		s.Rows = append(s.Rows, d.boltRows(m)...)
	}
	return s
}

// widestBolts is how many columns of torques fit across the page.
const widestBolts = 12

// boltRows has a column a bolt in tightening order, with its final torque, and the
// largest of their uncertainties in the caption; behind them the facts that matter
// later.
func (d Data) boltRows(m Measured) []row {
	list, _ := d.Sheet.BoltList(m.Feature)
	f := m.Format
	caption := upperFirst(m.title()) + ", " + stageTitle(m.Stage) + ": final torque in tightening order, " + f.Unit + f.doubt(m.expanded())
	notes := dropEmpty(fmt.Sprintf("%s: %s; target %s, %s.", upperFirst(m.title()), d.torques(m), f.figure(list.TargetNm()), f.limits(m.Spec.Limits)),
		given(list.LeftHand, "Left-hand threads."),
		given(list.OneTime, "One-time bolts: new ones at every removal."),
		given(list.AngleDeg > 0, fmt.Sprintf("Then turned on by %g°: the torques are those before it.", list.AngleDeg)),
		given(list.ThreadLocker, "Thread-locker: no re-strike once it has set."))
	var rows []row
	for part := range slices.Chunk(d.bolts(m), widestBolts) {
		t := &table{Caption: caption, Columns: []column{{"Bolt", false}}, Rows: [][]entry{{plain("Torque")}}}
		for _, bolt := range part {
			t.Columns = append(t.Columns, column{strconv.Itoa(bolt.Number), true})
			t.Rows[0] = append(t.Rows[0], judged(bolt.Verdict, f.figure(bolt.torque())))
			if math.IsNaN(bolt.torque()) {
				notes = append(notes, fmt.Sprintf("Bolt %d: no torque on record.", bolt.Number))
			}
		}
		rows, caption = append(rows, row{{Share: 1, Table: t}}), "continued"
	}
	return append(rows, row{{Share: 1, Lines: notes}})
}
