package report

import (
	"fmt"
	"math"
	"strings"

	"crownlog/analysis/setup"
	"crownlog/logger/words"
)

// toothPicture sketches one flank of a crown wheel tooth, toe to the left and
// heel to the right, with the contact area where it was entered. A tapered
// tooth is drawn taller at the heel. The size of the area is a symbol, not a
// measurement.
func toothPicture(flank, form string, contact setup.Contact) *drawing {
	d := &drawing{width: 240, height: 122, title: "Contact pattern, " + flank + " flank", desc: contactWords(contact)}
	toe, heel := 62.0, 62.0
	if form == "tapered" {
		toe = 46
	}
	left, right, root := 42.0, 202.0, 98.0
	face := func(x float64) float64 { return root - toe - (heel-toe)*(x-left)/(right-left) }
	d.polyline(ink{fill: "#f3f6f8", stroke: colourInk, width: 1.1}, []point{
		{left, root}, {left + 7, face(left)}, {right - 7, face(right)}, {right, root}}, true)
	d.line(inkGhost, point{(left + right) / 2, root}, point{(left + right) / 2, face((left + right) / 2)})
	d.line(inkGhost, point{left + 4, root - toe/2}, point{right - 4, root - heel/2})

	const rx, ry = 34.0, 11.0
	clamp := func(v float64) float64 { return math.Max(-1, math.Min(1, v)) }
	x := (left+right)/2 + clamp(contact.Along)*((right-left)/2-rx-8)
	tall := root - face(x)
	y := root - tall/2 - clamp(contact.Up)*(tall/2-ry-3)
	d.ellipse(ink{fill: "#b9cfdc", stroke: colourInside, width: 1.2}, point{x, y}, rx, ry)
	d.hatch(point{x, y}, rx, ry)

	d.write(inkSoft, label{at: point{left - 6, root - toe/2 + 3.5}, anchor: anchorEnd, size: 10, text: "toe"})
	d.write(inkSoft, label{at: point{right + 6, root - heel/2 + 3.5}, size: 10, text: "heel"})
	d.write(inkSoft, label{at: point{(left + right) / 2, root + 13}, anchor: anchorMiddle, size: 10, text: "root"})
	d.write(inkSoft, label{at: point{(left + right) / 2, face((left+right)/2) - 5}, anchor: anchorMiddle, size: 10, text: "face"})
	d.write(inkText, label{at: point{(left + right) / 2, 14}, anchor: anchorMiddle, size: 11, bold: true, text: flank})
	return d
}

// hatch rules slanting lines over an ellipse, so that it shows without colour.
func (d *drawing) hatch(c point, rx, ry float64) {
	for k := -0.75; k <= 0.76; k += 0.25 {
		h := ry * math.Sqrt(1-k*k)
		slant := 0.35 * h
		d.line(ink{stroke: colourInside, width: 0.7}, point{c.x + rx*k - slant/2, c.y + h*0.8}, point{c.x + rx*k + slant/2, c.y - h*0.8})
	}
}

// contactWords says where the contact lies.
func contactWords(c setup.Contact) string {
	along, up := c.Zones()
	return fmt.Sprintf("Contact %s, %s.", [...]string{"towards the toe", "in the middle of the length", "towards the heel"}[along+1],
		[...]string{"towards the root", "halfway up", "towards the face"}[up+1])
}

// contactSection sketches the contact on drive and coast flanks and draws the
// leak-down curve, where its readings were kept.
func contactSection(d Data) section {
	var panels row
	for _, p := range d.Patterns {
		panels = append(panels, patternPanels(p, d.Sheet.GearSet.ToothForm)...)
	}
	for _, l := range d.LeakDowns {
		panels = append(panels, leakPanel(l))
	}
	if len(panels) == 0 {
		return section{}
	}
	titles := dropEmpty(given(len(d.Patterns) > 0, "Contact pattern"), given(len(d.LeakDowns) > 0, "Air test"))
	return section{Title: strings.Join(titles, ", "), Rows: thirds(panels, nil)}
}

// patternPanels are the flanks that were entered; the advice stands with the
// second.
func patternPanels(p Pattern, form string) row {
	var r row
	flank := func(name string, c *setup.Contact, advice string) {
		if c != nil {
			r = append(r, panel{Share: 1, Picture: toothPicture(name, form, *c), Lines: dropEmpty(
				upperFirst(stageTitle(p.Stage))+". "+contactWords(*c), advice)})
		}
	}
	flank("drive", p.Drive, "")
	flank("coast", p.Coast, words.Contact(p.Advice))
	return r
}
