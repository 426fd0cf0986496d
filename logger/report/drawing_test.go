package report

import (
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/analysis/gum"
)

func TestPolar(t *testing.T) {
	c := point{100, 100}
	for _, tc := range []struct {
		deg  float64
		want point
	}{
		{0, point{100, 60}}, {90, point{140, 100}}, {180, point{100, 140}}, {270, point{60, 100}}, {450, point{140, 100}},
		{45, point{100 + 40/math.Sqrt2, 100 - 40/math.Sqrt2}},
	} {
		got := polar(c, 40, tc.deg)
		assert.InDelta(t, tc.want.x, got.x, 1e-9, "%v°", tc.deg)
		assert.InDelta(t, tc.want.y, got.y, 1e-9, "%v°", tc.deg)
	}
}

func TestNewScale(t *testing.T) {
	for _, tc := range []struct {
		low, high           float64
		wantLow, wantHigh   float64
		wantTicks, decimals int
	}{
		{0.121, 0.209, 0.1, 0.25, 4, 2}, {0, 1, 0, 1, 3, 1}, {-0.013, 0.017, -0.02, 0.02, 5, 2},
		{630.1, 655, 630, 660, 4, 0}, {5, 5, 4.5, 5.5, 3, 1}, {97, 99, 97, 99, 5, 1},
	} {
		s := newScale(tc.low, tc.high, 0, 100, 4)
		assert.InDelta(t, tc.wantLow, s.low, 1e-9, "%v", tc)
		assert.InDelta(t, tc.wantHigh, s.high, 1e-9, "%v", tc)
		assert.Len(t, s.ticks, tc.wantTicks, "%v", tc)
		_, decimals, _ := strings.Cut(s.figure(s.ticks[1]), ".")
		assert.Len(t, decimals, tc.decimals, "%v", tc)
		assert.InDelta(t, 0, s.at(s.low), 1e-9)
		assert.InDelta(t, 50, s.at((s.low+s.high)/2), 1e-9)
		assert.InDelta(t, 100, s.at(s.high+1), 1e-9, "held within its ends")
	}
}

// A position's mark lies on its ray at the radius of its backlash, inside the
// shaded ring exactly when the value is inside the window.
func TestWheelGeometry(t *testing.T) {
	d := demoData()
	rounds := d.backlash()
	m := rounds[len(rounds)-1]
	s := wheelScale(m)
	centres := discCentres(d.wheel(m, nil), wheelMark)
	require.Len(t, centres, len(m.Results))
	for i, p := range m.Results {
		want := polar(hub, s.at(p.Capture.Value), p.Capture.AngleDeg)
		assert.InDelta(t, want.x, centres[i].x, 1e-9, "position %d", p.Capture.Position)
		assert.InDelta(t, want.y, centres[i].y, 1e-9, "position %d", p.Capture.Position)
	}
	assert.InDelta(t, (0.20-0.13)/(0.16-0.13), (s.at(0.20)-s.at(0.13))/(s.at(0.16)-s.at(0.13)), 1e-9, "radius is linear in backlash")
	assert.Greater(t, s.at(0.13), wheelInner-1e-9)
	assert.Less(t, s.at(0.20), wheelOuter+1e-9)
}

// discCentres finds the filled discs of radius r.
func discCentres(d *drawing, r float64) []point {
	var centres []point
	for _, m := range d.marks {
		if m.ink.fill == colourInside && math.Abs(m.radius-r) < 1e-9 {
			centres = append(centres, m.points[0])
		}
	}
	return centres
}

func TestWindowRing(t *testing.T) {
	s := scale{low: 0, high: 1, from: 20, to: 120}
	nan := math.NaN()
	for _, tc := range []struct {
		name         string
		limits       gum.Limits
		inner, outer float64 // 0, 0: no ring
	}{
		{"both limits", gum.Limits{Lower: 0.2, Upper: 0.6}, 40, 80},
		{"upper only", gum.Limits{Lower: nan, Upper: 0.6}, 20, 80},
		{"lower only", gum.Limits{Lower: 0.2, Upper: nan}, 40, 120},
		{"none", gum.Limits{Lower: nan, Upper: nan}, 0, 0},
	} {
		t.Run(tc.name, func(t *testing.T) {
			d := &drawing{}
			d.windowRing(tc.limits, s)
			if tc.outer == 0 {
				assert.Empty(t, d.marks)
				return
			}
			band := d.marks[len(d.marks)-1]
			assert.Equal(t, colourBand, band.ink.stroke)
			assert.InDelta(t, tc.outer, band.radius+band.ink.width/2, 1e-9)
			assert.InDelta(t, tc.inner, band.radius-band.ink.width/2, 1e-9)
			for _, limit := range d.marks[:len(d.marks)-1] {
				assert.Equal(t, inkLimit, limit.ink)
				assert.Contains(t, []float64{tc.inner, tc.outer}, limit.radius, "no line where no limit was entered")
				assert.NotContains(t, []float64{s.from, s.to}, limit.radius)
			}
		})
	}
}

// Nothing of any picture is cut off at its edge.
func TestPicturesKeepWithinTheirFrame(t *testing.T) {
	for name, d := range oddJobs() {
		for _, p := range pictures(compose(d)) {
			lo, hi := p.bounds()
			assert.GreaterOrEqual(t, lo.x, -1.0, "%s: %s", name, p.title)
			assert.GreaterOrEqual(t, lo.y, -1.0, "%s: %s", name, p.title)
			assert.LessOrEqual(t, hi.x, p.width+1, "%s: %s", name, p.title)
			assert.LessOrEqual(t, hi.y, p.height+1, "%s: %s", name, p.title)
		}
	}
}

func pictures(p page) []*drawing {
	var ds []*drawing
	for _, s := range p.Sections {
		for _, r := range s.Rows {
			for _, pn := range r {
				if pn.Picture != nil {
					ds = append(ds, pn.Picture)
				}
			}
		}
	}
	return ds
}

func TestSVG(t *testing.T) {
	d := &drawing{width: 40, height: 30, title: `a "title" & more`, desc: "1 < 2"}
	d.line(inkHair, point{0, 0}, point{40, 30})
	d.circle(ink{fill: colourInside}, point{20, 15}, 10)
	d.polyline(inkDashed, []point{{1, 1}, {2, 2.126}, {3, 1}}, true)
	d.polyline(inkCurve, nil, true)
	d.write(inkText, anchorEnd, 9, 5, 6, "<5 µm>")

	got := d.svg()
	names := map[string]int{}
	dec := xml.NewDecoder(strings.NewReader(got))
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok {
			names[e.Name.Local]++
		}
	}
	assert.Equal(t, map[string]int{"svg": 1, "path": 2, "circle": 1, "text": 1}, names)
	assert.Contains(t, got, `viewBox="0 0 40 30"`)
	assert.Contains(t, got, `d="M0 0L40 30" fill="none" stroke="#ccd4db"`)
	assert.Contains(t, got, `d="M1 1L2 2.13L3 1Z" fill="none"`)
	assert.Contains(t, got, `stroke-dasharray="4 3"`)
	assert.Contains(t, got, `text-anchor="end" font-weight="700">&lt;5 µm&gt;</text>`)
	assert.Contains(t, got, `aria-label="a &#34;title&#34; &amp; more. 1 &lt; 2"`)
}

func TestCoordinate(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.001: "0", 1: "1", 1.5: "1.5", 12.345: "12.35", -3.10: "-3.1", 100: "100"} {
		assert.Equal(t, want, coordinate(v))
	}
}

// Text colours reach a contrast of 4.5 to 1 on what they stand on, and the
// marks of 3 to 1. Source: WCAG 2.2, 1.4.3 and 1.4.11.
func TestContrast(t *testing.T) {
	for _, c := range []string{colourInk, colourSoft, colourGhost, colourInside, colourOutside, colourClose} {
		assert.GreaterOrEqual(t, contrast(c, colourPaper), 4.5, c)
	}
	for _, c := range []string{colourInk, colourSoft, colourGhost, colourInside, colourOutside, colourClose, colourBandEnd} {
		assert.GreaterOrEqual(t, contrast(c, colourBand), 3.0, c)
	}
	assert.InDelta(t, 21, contrast("#000000", "#ffffff"), 1e-9)
}

func contrast(a, b string) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

// luminance is the relative luminance of "#rrggbb". Source: WCAG 2.2.
func luminance(colour string) float64 {
	l := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		v, err := strconv.ParseUint(colour[1+2*i:3+2*i], 16, 8)
		if err != nil {
			return math.NaN()
		}
		s := float64(v) / 255
		if s <= 0.04045 {
			s /= 12.92
		} else {
			s = math.Pow((s+0.055)/1.055, 2.4)
		}
		l += weight * s
	}
	return l
}

// Each verdict has a shape of its own.
func TestVerdictShapes(t *testing.T) {
	seen := map[string]gum.Verdict{}
	for _, v := range []gum.Verdict{gum.Inside, gum.Outside, gum.TooClose, gum.NotDecided} {
		shape := ""
		for _, m := range verdictIcon(v).marks {
			shape += fmt.Sprint(len(m.points), m.radius > 0, " ") + strconv.FormatBool(m.ink.fill == colourPaper) + " "
		}
		other, taken := seen[shape]
		assert.False(t, taken, "%q looks like %q", v, other)
		seen[shape] = v
	}
}

// bounds is the smallest box around every path point and every text of d.
// An average letter width stands in for exact extents.
func (d *drawing) bounds() (lo, hi point) {
	lo, hi = point{math.Inf(1), math.Inf(1)}, point{math.Inf(-1), math.Inf(-1)}
	grow := func(p point) {
		lo = point{math.Min(lo.x, p.x), math.Min(lo.y, p.y)}
		hi = point{math.Max(hi.x, p.x), math.Max(hi.y, p.y)}
	}
	for _, m := range d.marks {
		half := m.radius + m.ink.width/2
		for _, p := range m.points {
			grow(point{p.x - half, p.y - half})
			grow(point{p.x + half, p.y + half})
		}
		if m.text.text != "" {
			x, w := m.text.left()
			grow(point{x, m.text.at.y - 0.75*m.text.size})
			grow(point{x + w, m.text.at.y + 0.25*m.text.size})
		}
	}
	return lo, hi
}

// left is the estimated left end and width of a text.
func (l label) left() (x, width float64) {
	width = 0.56 * l.size * float64(len([]rune(l.text)))
	switch l.anchor {
	case anchorMiddle:
		return l.at.x - width/2, width
	case anchorEnd:
		return l.at.x - width, width
	}
	return l.at.x, width
}
