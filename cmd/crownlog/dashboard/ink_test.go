package dashboard

import (
	"math"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/stretchr/testify/assert"
)

func TestNoColorUsesNoColor(t *testing.T) {
	for _, s := range newPalette(true) {
		fg, bg, _ := s.Decompose()
		assert.Equal(t, tcell.ColorDefault, fg)
		assert.Equal(t, tcell.ColorDefault, bg)
	}
}

// luminance is the relative luminance of a colour (WCAG 2.2).
func luminance(c tcell.Color) float64 {
	r, g, b := c.RGB()
	linear := func(v int32) float64 {
		x := float64(v) / 255
		if x <= 0.04045 {
			return x / 12.92
		}
		return math.Pow((x+0.055)/1.055, 2.4)
	}
	return 0.2126*linear(r) + 0.7152*linear(g) + 0.0722*linear(b)
}

func contrast(a, b tcell.Color) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func TestInksAreReadOnDarkAndOnLight(t *testing.T) {
	for i, s := range newPalette(false) {
		fg, bg, _ := s.Decompose()
		grounds := []tcell.Color{bg}
		if bg == tcell.ColorDefault {
			grounds = []tcell.Color{tcell.ColorBlack.TrueColor(), tcell.ColorWhite.TrueColor()}
		}
		if fg == tcell.ColorDefault {
			continue // the terminal's own
		}
		for _, ground := range grounds {
			assert.GreaterOrEqual(t, contrast(fg, ground), 3.5, "ink %d on %v", i, ground)
		}
	}
}
