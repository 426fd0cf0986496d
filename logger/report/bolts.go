package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"crownlog/logger/feature"
	"crownlog/logger/record"
)

// bolts are the last pulls in the order of the sequence; a value of NaN: not
// tightened.
func (d Data) bolts(m Measured) []feature.Result {
	list, _ := d.Sheet.BoltList(m.Feature)
	return Each(list.Order(), func(number int) feature.Result {
		for _, r := range m.Results {
			if r.Capture.Position == number {
				return r
			}
		}
		return feature.Result{Capture: record.Capture{Position: number, Value: math.NaN(), U: math.NaN()}}
	})
}

// torques says how many bolts are tight, and from where to where.
func (d Data) torques(m Measured) string {
	all := Each(d.bolts(m), func(b feature.Result) float64 { return b.Capture.Value })
	tight := slices.DeleteFunc(slices.Clone(all), math.IsNaN)
	low, high := extent(tight)
	return fmt.Sprintf("%d of %d", len(tight), len(all)) + given(len(tight) > 0, ", "+m.Format.figure(low)+" to "+m.Format.figure(high))
}

// widestBolts is how many columns of torques fit across the page.
const widestBolts = 12

// boltSection has a column a bolt in tightening order, with its final torque, its
// verdict, and the largest of their uncertainties in the caption; behind them the
// facts that matter later.
func boltSection(d Data) section {
	s := section{Title: "Bolt torque in sequence"}
	for _, m := range d.of(boltLists...) {
		list, _ := d.Sheet.BoltList(m.Feature)
		f := m.Format
		caption := upperFirst(m.title()) + ", " + stageTitle(m.Stage) + ": final torque in tightening order, " + f.Unit + f.doubt(m.expanded())
		notes := dropEmpty(fmt.Sprintf("%s: %s; target %s, %s.", upperFirst(m.title()), d.torques(m), f.figure(list.TargetNm()), f.limits(m.Spec.Limits)),
			given(list.LeftHand, "Left-hand threads."),
			given(list.OneTime, "One-time bolts: new ones at every removal."),
			given(list.AngleDeg > 0, fmt.Sprintf("Then turned on by %g°: the torques are those before it.", list.AngleDeg)),
			given(list.ThreadLocker, "Thread-locker: no re-strike once it has set."))
		for part := range slices.Chunk(d.bolts(m), widestBolts) {
			t := &table{Caption: caption, Columns: []column{{"Bolt", false}}, Rows: [][]entry{{plain("Torque")}}}
			for _, bolt := range part {
				c := bolt.Capture
				t.Columns = append(t.Columns, column{strconv.Itoa(c.Position), true})
				t.Rows[0] = append(t.Rows[0], judged(bolt.Verdict, f.figure(c.Value)))
				if math.IsNaN(c.Value) {
					notes = append(notes, fmt.Sprintf("Bolt %d: no torque on record.", c.Position))
				}
			}
			s.Rows, caption = append(s.Rows, row{{Share: 1, Table: t}}), "continued"
		}
		s.Rows = append(s.Rows, row{{Share: 1, Lines: notes}})
	}
	return s
}
