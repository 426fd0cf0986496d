package dashboard

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{0.173, 3, " 0.173"},
		{-0.012, 3, "-0.012"},
		{-0.0004, 3, " 0.000"}, // no minus before nothing
		{0.05, 2, " 0.05"},
		{97.84, 1, " 97.8"},
		{12, 0, " 12"},
		{math.NaN(), 3, " ----"},
	} {
		assert.Equal(t, c.want, number(c.v, c.decimals))
	}
}

func TestDigitsPicture(t *testing.T) {
	for _, c := range []struct {
		name, s string
		ascii   bool
	}{
		{"digits", "-0123456789.", false},
		{"digits-ascii", "-0123456789.", true},
	} {
		t.Run(c.name, func(t *testing.T) {
			z := digitSize{rows: 8, cols: 8}
			canvas := newCanvas(z.span(c.s), z.rows, c.ascii)
			digits(canvas, c.s, z, inkStrong)
			golden(t, c.name, canvas.String())
		})
	}
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
		assert.Len(t, digitTemplate(v), len(first))
		assert.LessOrEqual(t, len(number(x, v.Decimals)), len(first))
	}
}

func TestFitDigitsNeverOverflows(t *testing.T) {
	for w := range 120 {
		for h := range 30 {
			z := fitDigits("-0.000", w, h)
			assert.LessOrEqual(t, z.rows, h)
			if z.rows > 0 {
				assert.LessOrEqual(t, z.span("-0.000"), w)
			}
		}
	}
}
