package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"crownlog/analysis/gum"
)

// crowded is how many bolts fit a chart of the usual width.
const crowded = 10

// boltPicture draws one bar a bolt in tightening sequence, up or down from the
// target, over the tolerance band, with the mark of its verdict below. A torque
// beyond the field ends in an arrow with its figure.
func boltPicture(b BoltCircle) *drawing {
	reach := 1.6 * math.Max(b.Spec.Limits.Upper-b.List.TargetNm(), b.List.TargetNm()-b.Spec.Limits.Lower)
	width := float64(chartWidth)
	if len(b.Bolts) > crowded {
		width = math.Max(2*chartWidth, 58+21*float64(len(b.Bolts)))
	}
	c := newChart(width, chartHeight, 0, 1, "N·m", b.title(), boltWords(b))
	c.y = newFixedScale(b.List.TargetNm()-reach, b.List.TargetNm()+reach, c.bottom-20, c.top, 5)
	c.band(b.Spec.Limits)
	c.grid()
	middle := c.y.at(b.List.TargetNm())
	for i, bolt := range b.Bolts {
		x, step := c.column(i, len(b.Bolts))
		c.under(x, strconv.Itoa(bolt.Number), true)
		c.verdictMark(bolt.Verdict, point{x, c.bottom - 7}, 3.6)
		if !math.IsNaN(bolt.torque()) {
			c.bar(x, math.Min(13, 0.6*step), middle, bolt, b)
		}
	}
	c.line(inkOutline, point{c.left, middle}, point{c.right, middle})
	c.axis("bolt, in tightening order")
	return c.drawing
}

// bar draws one torque from the target line.
func (c chart) bar(x, width, middle float64, bolt Bolt, b BoltCircle) {
	end := c.y.at(bolt.torque())
	colour := verdictColours[bolt.Verdict]
	c.rect(ink{fill: colour}, x-width/2, math.Min(middle, end), width, math.Max(math.Abs(end-middle), 1.2))
	figure := label{at: point{x, c.top - 9}, anchor: anchorMiddle, size: 9, bold: true, text: b.Format.figure(bolt.torque())}
	switch {
	case bolt.torque() > c.y.high:
		c.arrow(x, c.top, -1, width/2+2, colour)
		c.write(inkText, figure)
	case bolt.torque() < c.y.low:
		c.arrow(x, c.y.from, 1, width/2+2, colour)
		figure.at.y = middle - 4
		c.write(inkText, figure)
	}
}

// arrow says that a bar goes on beyond the field.
func (c chart) arrow(x, y, direction, width float64, colour string) {
	c.polyline(ink{fill: colour}, []point{{x - width, y}, {x + width, y}, {x, y + 6*direction}}, true)
}

// boltWords says what the picture shows.
func boltWords(b BoltCircle) string {
	tight, s := b.tight()
	f := b.Format
	return fmt.Sprintf("%d of %d bolts", tight, len(b.Bolts)) +
		given(tight > 0, fmt.Sprintf(", %s to %s", f.figure(s.low), f.quantity(s.high))) +
		fmt.Sprintf("; target %s, %s to %s.", f.figure(b.List.TargetNm()), f.figure(b.Spec.Limits.Lower), f.figure(b.Spec.Limits.Upper))
}

// boltSection is one picture a bolt circle, and every torque as a figure.
func boltSection(d Data) section {
	if len(d.Bolts) == 0 {
		return section{}
	}
	const legend = "Bars start at the target; shaded: tolerance."
	var panels row
	var notes []string
	var wide []row
	for _, b := range d.Bolts {
		p := boltPicture(b)
		p.caption(upperFirst(b.title()) + ", " + stageTitle(b.Stage))
		if len(b.Bolts) > crowded {
			wide = append(wide, row{{Share: 2, Picture: p}, {Share: 1, Lines: append(boltNotes(b), legend)}})
			continue
		}
		panels = append(panels, panel{Share: 1, Picture: p})
		notes = append(notes, boltNotes(b)...)
	}
	s := section{Title: "Bolt torque in sequence", Rows: wide}
	if len(panels) > 0 {
		s.Rows = append(s.Rows, thirds(panels, append(notes, legend))...)
	}
	s.Rows = append(s.Rows, boltRows(d.Bolts)...)
	return s
}

// widestBolts is how many columns of torques fit across the page.
const widestBolts = 16

// boltRows puts the torques of the circles side by side as far as they fit.
func boltRows(circles []BoltCircle) []row {
	var rows []row
	room := 0.0
	for _, b := range circles {
		for _, p := range boltTables(b) {
			if p.Share > room {
				rows, room = append(rows, nil), widestBolts
			}
			n := len(rows) - 1
			rows[n] = append(rows[n], p)
			room -= p.Share
		}
	}
	return rows
}

// boltTables has a column a bolt in tightening order, with its final torque and
// the largest of their uncertainties in the caption. The mark stands where it is not inside; the picture has all of them.
func boltTables(b BoltCircle) []panel {
	caption := upperFirst(b.title()) + ": final torque, " + b.Format.Unit
	if u := b.expanded(); u > 0 {
		caption += ", ± " + b.Format.uncertainty(u)
	}
	var panels []panel
	for part := range slices.Chunk(b.Bolts, widestBolts-1) {
		t := &table{Caption: caption, Columns: []column{{"Bolt", false}}, Rows: [][]entry{{plain("Torque")}}}
		for _, bolt := range part {
			t.Columns = append(t.Columns, column{strconv.Itoa(bolt.Number), true})
			e := plain(b.Format.figure(bolt.torque()))
			if bolt.Verdict != gum.Inside {
				e = judged(bolt.Verdict, e.Text)
			}
			t.Rows[0] = append(t.Rows[0], e)
		}
		panels = append(panels, panel{Share: float64(len(part) + 1), Table: t})
		caption = "continued"
	}
	return panels
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
