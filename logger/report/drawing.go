package report

import "math"

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
