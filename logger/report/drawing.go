package report

import (
	"math"
)

// A drawing is a vector picture that knows no output format: report.html shows
// it as SVG and report.pdf as PDF paths, so both show the same thing. Lengths
// are in drawing units, x to the right and y down.
type drawing struct {
	width, height float64
	title         string // what the picture is, for those who do not see it
	desc          string // what it says, in a sentence or two
	marks         []mark
}

// A mark is one path, one text or one photo of a drawing.
type mark struct {
	ink   ink
	path  []segment // empty for a text
	text  label
	photo []byte // a JPEG from the upper left corner on
	size  point  // of the photo
}

// An ink says how a mark is drawn. Colours are "#rrggbb", "" for none.
type ink struct {
	fill   string
	stroke string
	width  float64
	dash   []float64
}

// A segment is one step of a path: 'M' move, 'L' line, 'C' cubic Bézier with
// two control points before its end, 'Z' close.
type segment struct {
	op byte
	p  [3]point // M and L use p[0]; C all three
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
	bold   bool
	text   string
}

// add puts a path on the drawing; an empty one is left out.
func (d *drawing) add(i ink, path ...segment) {
	if len(path) > 0 {
		d.marks = append(d.marks, mark{ink: i, path: path})
	}
}

// write puts a text on the drawing; an empty one is left out.
func (d *drawing) write(i ink, l label) {
	if l.text != "" {
		d.marks = append(d.marks, mark{ink: i, text: l})
	}
}

func (d *drawing) line(i ink, a, b point) { d.add(i, moveTo(a), lineTo(b)) }

// polyline joins points; without any it draws nothing.
func (d *drawing) polyline(i ink, ps []point, closed bool) {
	if len(ps) == 0 {
		return
	}
	path := []segment{moveTo(ps[0])}
	for _, p := range ps[1:] {
		path = append(path, lineTo(p))
	}
	if closed {
		path = append(path, segment{op: 'Z'})
	}
	d.add(i, path...)
}

func (d *drawing) rect(i ink, x, y, w, h float64) {
	d.polyline(i, []point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, true)
}

func (d *drawing) circle(i ink, c point, r float64) { d.add(i, circlePath(c, r, r, true)...) }

// ring fills the band between two radii.
func (d *drawing) ring(i ink, c point, inner, outer float64) {
	path := circlePath(c, outer, outer, true)
	if inner > 0 {
		path = append(path, circlePath(c, inner, inner, false)...)
	}
	d.add(i, path...)
}

func (d *drawing) ellipse(i ink, c point, rx, ry float64) { d.add(i, circlePath(c, rx, ry, true)...) }

func moveTo(p point) segment { return segment{op: 'M', p: [3]point{p}} }
func lineTo(p point) segment { return segment{op: 'L', p: [3]point{p}} }

// quarterArc is the control length of a cubic Bézier that follows a quarter of
// a unit circle within 0.03 %: 4/3·(√2-1).
const quarterArc = 0.5522847498307936

// circlePath is an ellipse of four Bézier quarters, clockwise or not: the
// direction decides whether one inside another cuts a hole.
func circlePath(c point, rx, ry float64, clockwise bool) []segment {
	turn := 1.0
	if !clockwise {
		turn = -1
	}
	at := func(x, y float64) point { return point{c.x + rx*x, c.y + turn*ry*y} }
	path := []segment{moveTo(at(1, 0))}
	x, y := 1.0, 0.0
	for range 4 {
		nx, ny := -y, x
		path = append(path, segment{op: 'C', p: [3]point{
			at(x+quarterArc*nx, y+quarterArc*ny),
			at(nx+quarterArc*x, ny+quarterArc*y),
			at(nx, ny),
		}})
		x, y = nx, ny
	}
	return append(path, segment{op: 'Z'})
}

// polar is the point at radius r and angle deg, 0 at the top, clockwise.
func polar(c point, r, deg float64) point {
	s, k := math.Sincos(deg * math.Pi / 180)
	return point{c.x + r*s, c.y - r*k}
}

// caption writes a line below a picture.
func (d *drawing) caption(text string) {
	d.write(inkText, label{at: point{d.width / 2, d.height + 9}, anchor: anchorMiddle, size: 11, bold: true, text: text})
	d.height += 16
}
