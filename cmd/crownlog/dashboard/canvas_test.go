package dashboard

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

func TestTextKeepsControlCharactersOff(t *testing.T) {
	c := newCanvas(12, 1, false)
	end := c.text(0, 0, "a\x1b[2Jb\n\u0301c\u202ed", inkPlain)
	assert.Equal(t, "a[2Jbcd\n", c.String())
	assert.Equal(t, 7, end)
}

func TestWideCharacters(t *testing.T) {
	c := newCanvas(5, 1, false)
	c.text(0, 0, "軸a軸", inkPlain)
	assert.Equal(t, "軸a軸\n", c.String())
	c = newCanvas(4, 1, false)
	c.text(0, 0, "軸a軸", inkPlain) // the last one would stick out
	assert.Equal(t, "軸a\n", c.String())
}

func TestPaneCutsOff(t *testing.T) {
	c := newCanvas(10, 2, false)
	c.pane(2, 0, 3, 1).text(-1, 0, "abcdefgh", inkPlain)
	c.pane(8, 1, 9, 9).text(0, 0, "xyz", inkPlain)
	assert.Equal(t, "  bcd\n        xy\n", c.String())
}

func TestParagraph(t *testing.T) {
	for _, c := range []struct {
		name, in, want string
		w, h, rows     int
	}{
		{"one line", "turn the wheel", "turn the wheel\n\n", 14, 2, 1},
		{"between words", "turn the wheel", "turn the\nwheel\n", 13, 2, 2},
		{"cut at the end", "turn the wheel on now", "turn the\nwheel o…\n", 8, 2, 2},
		{"empty", "", "\n\n", 8, 2, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := newCanvas(c.w, c.h, false)
			assert.Equal(t, c.rows, p.paragraph(c.in, inkPlain))
			assert.Equal(t, c.want, p.String())
		})
	}
}

func TestBigLettersFallBack(t *testing.T) {
	c := newCanvas(40, 3, false)
	assert.True(t, c.big("rock it", inkPlain))
	assert.False(t, c.big(strings.Repeat("rock it ", 9), inkPlain), "too long")
	assert.False(t, c.big("rock it 軸", inkPlain), "no such letter")
	c.ascii = true
	assert.False(t, c.big("rock it", inkPlain), "no blocks in ASCII")
}

func TestDots(t *testing.T) {
	d := newDots(3, 1)
	d.line(0, 0, 5, 3)
	c := newCanvas(3, 1, false)
	d.draw(c, inkPlain)
	assert.Equal(t, "⠉⠒⢄\n", c.String())
	d.set(-1, 0)
	d.set(6, 0)
	d.set(0, 4) // outside: nothing
	c = newCanvas(3, 1, true)
	d.draw(c, inkPlain)
	assert.Equal(t, "''.\n", c.String())
}

// TestEverySizeStaysOnItsPane draws every page at all sizes, down to nothing, on
// a pane of a larger canvas: what is around it is not touched.
func TestEverySizeStaysOnItsPane(t *testing.T) {
	job, typing := jobScene(), typedLine{what: typedReason, text: strings.Repeat("why ", 40)}
	pages := []func(canvas){
		func(c canvas) { paintJob(c, job, jobState{}, roundScene{View: doneScene()}) },
		func(c canvas) { paintTyped(c, typing, "mm") },
		func(c canvas) {
			paintPattern(c, roundScene{View: base(record.FeaturePatternDrive)}, PatternEntry{}, nil)
		},
		func(c canvas) { paintHelp(c, "Mind your fingers.") },
	}
	for _, s := range scenes {
		pages = append(pages, func(c canvas) { paintRound(c, roundScene{View: s.view}) })
	}
	for _, ascii := range []bool{false, true} {
		for w := 0; w < 260; w += 7 {
			for h := 0; h < 80; h += 3 {
				around := newCanvas(w+2, h+2, ascii)
				for i, paint := range pages {
					paint(around.pane(1, 1, w, h))
					for x := range w + 2 {
						require.Zero(t, *around.at(x, 0), "page %d at %dx%d, above", i, w, h)
						require.Zero(t, *around.at(x, h+1), "page %d at %dx%d, below", i, w, h)
					}
					for y := range h + 2 {
						require.Zero(t, *around.at(0, y), "page %d at %dx%d, left", i, w, h)
						require.Zero(t, *around.at(w+1, y), "page %d at %dx%d, right", i, w, h)
					}
				}
			}
		}
	}
}
