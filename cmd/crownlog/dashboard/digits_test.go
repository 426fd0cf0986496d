package dashboard

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestDigitsPicture(t *testing.T) {
	const all = "-0123456789."
	c := newCanvas(face(2).wide(all), 8, false)
	c.digits(all, all, inkStrong)
	golden(t, "digits", c.String())
}

func TestDigitsFillAThirdOfTheScreen(t *testing.T) {
	for _, z := range []struct{ w, h int }{{80, 24}, {100, 30}, {120, 40}, {160, 50}, {200, 60}, {250, 70}} {
		for _, s := range scenes {
			if math.IsNaN(s.view.Reading) {
				continue
			}
			c := newCanvas(z.w, z.h, false)
			paintRound(c, roundScene{View: s.view})
			rows := 0
			for y := 2; y < 2+z.h/3; y++ { // below the header and the caption
				for x := z.w / 2; x < z.w; x++ {
					if r := c.at(x, y).r; r == '█' || r == '▀' || r == '▄' {
						rows++
						break
					}
				}
			}
			assert.GreaterOrEqual(t, rows, z.h/3, "%s at %dx%d", s.name, z.w, z.h)
		}
	}
}

func TestDigitsKeepTheirPlace(t *testing.T) {
	v := measuringScene()
	first := digitTemplate(v)
	for _, x := range []float64{0, -0.012, 0.173, 1.25, math.NaN()} {
		v.Reading = x
		assert.Equal(t, face(1).wide(first), face(1).wide(digitTemplate(v)))
	}
	last := func(s string) string {
		c := newCanvas(50, 8, false)
		c.digits(s, first, inkStrong)
		return c.pane(33, 0, 7, 8).String()
	}
	assert.Equal(t, last("0.175"), last("-0.015"))
	assert.NotEqual(t, last("0.175"), last("0.176"))
}

func TestDigitsAreNeverCut(t *testing.T) {
	for w := range 120 {
		for h := range 30 {
			c := newCanvas(w, h, false)
			c.digits("-8.888", "-8.888", inkStrong)
			top, _, _ := strings.Cut(c.String(), "\n")
			dots := countRunes(top, "█▀")
			assert.Zero(t, dots%12, "four digits of three dots, at %dx%d", w, h)
			assert.Equal(t, w >= 20 && h >= 3, dots > 0, "%dx%d", w, h)
		}
	}
}
