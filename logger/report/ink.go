package report

import (
	"crownlog/analysis/gum"
)

// The colours of the sheet: ink on paper with three verdict colours that stay
// apart for the colour-blind and in grey, and always go with a shape. Each has
// a contrast of at least 4.5 to 1 on white.
const (
	colourInk     = "#1b2733" // text and outlines
	colourSoft    = "#55636f" // secondary text
	colourRule    = "#8a97a3" // axes
	colourHair    = "#ccd4db" // grid
	colourBand    = "#dcebf2" // the entered window
	colourBandEnd = "#3f7f9c" // its limits
	colourGhost   = "#66727d" // earlier stages
	colourInside  = "#1f5f8b"
	colourOutside = "#a8321f"
	colourClose   = "#8a5a00"
	colourPaper   = "#ffffff"
)

// The inks of the pictures.
var (
	inkText    = ink{fill: colourInk, bold: true}
	inkSoft    = ink{fill: colourSoft}
	inkAxis    = ink{stroke: colourRule, width: 0.8}
	inkHair    = ink{stroke: colourHair, width: 0.6}
	inkLimit   = ink{stroke: colourBandEnd, width: 0.9}
	inkCurve   = ink{stroke: colourInk, width: 1.2}
	inkDashed  = ink{stroke: colourInk, width: 0.9, dash: []float64{4, 3}}
	inkGhost   = ink{stroke: colourGhost, width: 0.9, dash: []float64{2, 2}}
	inkWhisker = ink{stroke: colourSoft, width: 0.8}
)

// verdictColours are the colours of the verdicts.
var verdictColours = map[gum.Verdict]string{
	gum.Inside: colourInside, gum.Outside: colourOutside, gum.TooClose: colourClose, gum.NotDecided: colourSoft,
}

// verdictMark draws the shape of a verdict: a disc for inside, a diamond with
// a cross for outside, an open triangle for too close to call, an open circle
// where nothing was judged.
func (d *drawing) verdictMark(v gum.Verdict, c point, r float64) {
	colour := verdictColours[v]
	switch v {
	case gum.Inside:
		d.circle(ink{fill: colour, stroke: colourPaper, width: 0.8}, c, r)
	case gum.Outside:
		k := 1.35 * r
		d.polyline(ink{fill: colour, stroke: colourPaper, width: 0.8},
			[]point{{c.x, c.y - k}, {c.x + k, c.y}, {c.x, c.y + k}, {c.x - k, c.y}}, true)
		x := ink{stroke: colourPaper, width: 0.28 * r}
		q := 0.42 * r
		d.line(x, point{c.x - q, c.y - q}, point{c.x + q, c.y + q})
		d.line(x, point{c.x - q, c.y + q}, point{c.x + q, c.y - q})
	case gum.TooClose:
		d.polyline(ink{fill: colourPaper, stroke: colour, width: 0.36 * r},
			[]point{{c.x, c.y - 1.2*r}, {c.x + 1.1*r, c.y + 0.8*r}, {c.x - 1.1*r, c.y + 0.8*r}}, true)
	default:
		d.circle(ink{fill: colourPaper, stroke: colour, width: 0.3 * r}, c, 0.9*r)
	}
}

// verdictIcon is a verdict's shape alone, for tables and the headline.
func verdictIcon(v gum.Verdict) *drawing {
	d := &drawing{width: 16, height: 16, icon: true}
	d.verdictMark(v, point{8, 8}, 5)
	return d
}
