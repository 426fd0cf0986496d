package report

import (
	"math"

	"crownlog/analysis/gum"
)

// A drawing is a vector picture that knows no output format: report.html shows
// it as SVG and report.pdf as PDF paths, so both show the same thing. Lengths
// are in drawing units, x to the right and y down.
type drawing struct {
	width, height float64
	title         string // what the picture is, for those who do not see it
	desc          string // what it says, in a sentence or two
	icon          bool   // a verdict's shape beside its word
	marks         []mark
}

// A mark is one line through points, one circle, one text or one photo.
type mark struct {
	ink    ink
	points []point // of a line; the middle of a circle
	closed bool
	radius float64 // of a circle; 0: a line
	text   label
	photo  []byte // a picture of pixels that fills the drawing
	kind   string // of the pixels: "jpeg" or "png"
}

// An ink says how a mark is drawn. Colours are "#rrggbb", "" for none.
type ink struct {
	fill   string
	stroke string
	width  float64
	dash   []float64
	bold   bool // of a text
}

type point struct{ x, y float64 }

// The anchors say which end of a text its position is; "": its start.
const (
	anchorMiddle = "middle"
	anchorEnd    = "end"
)

// A label is a text; at is the left end, middle or right end of its baseline.
type label struct {
	at     point
	anchor string
	size   float64
	text   string
}

func (d *drawing) write(i ink, anchor string, size, x, y float64, text string) {
	d.marks = append(d.marks, mark{ink: i, text: label{point{x, y}, anchor, size, text}})
}

func (d *drawing) line(i ink, a, b point) { d.polyline(i, []point{a, b}, false) }

// polyline joins points; without any it draws nothing.
func (d *drawing) polyline(i ink, ps []point, closed bool) {
	if len(ps) > 0 {
		d.marks = append(d.marks, mark{ink: i, points: ps, closed: closed})
	}
}

func (d *drawing) rect(i ink, x, y, w, h float64) {
	d.polyline(i, []point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, true)
}

func (d *drawing) circle(i ink, c point, r float64) {
	d.marks = append(d.marks, mark{ink: i, points: []point{c}, radius: r})
}

// polar is the point at radius r and angle deg, 0 at the top, clockwise.
func polar(c point, r, deg float64) point {
	s, k := math.Sincos(deg * math.Pi / 180)
	return point{c.x + r*s, c.y - r*k}
}

// caption writes a line below a picture.
func (d *drawing) caption(text string) {
	d.write(inkText, anchorMiddle, 11, d.width/2, d.height+9, text)
	d.height += 16
}

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
