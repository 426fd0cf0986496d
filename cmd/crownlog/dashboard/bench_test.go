package dashboard

import (
	"fmt"
	"testing"

	"github.com/gdamore/tcell/v2"
	"github.com/rivo/tview"

	"crownlog/logger"
)

// BenchmarkPaint draws one frame of a measured round: on a canvas alone, and on
// a canvas and from there to a screen. The baseline is the same frame as lines
// of text in a tview TextView.
func BenchmarkPaint(b *testing.B) {
	for _, z := range sizes {
		b.Run(fmt.Sprintf("paint/%dx%d", z.w, z.h), func(b *testing.B) {
			v, c := measuringScene(), newCanvas(z.w, z.h, false)
			b.ReportAllocs()
			for b.Loop() {
				c = c.reuse(z.w, z.h, false)
				paintRound(c, roundScene{View: v})
			}
		})
		b.Run(fmt.Sprintf("canvas/%dx%d", z.w, z.h), func(b *testing.B) {
			p, s := benchPanel(b, z.w, z.h)
			v := measuringScene()
			b.ReportAllocs()
			for b.Loop() {
				p.show(v)
				s.Clear()
				p.Draw(s)
				s.Show()
			}
		})
		b.Run(fmt.Sprintf("textview/%dx%d", z.w, z.h), func(b *testing.B) {
			_, s := benchPanel(b, z.w, z.h)
			box := tview.NewTextView()
			box.SetRect(0, 0, z.w, z.h)
			text := Text(measuringScene(), z.w, z.h, Options{})
			b.ReportAllocs()
			for b.Loop() {
				box.SetText(text)
				s.Clear()
				box.Draw(s)
				s.Show()
			}
		})
	}
}

func benchPanel(b *testing.B, w, h int) (*panel, tcell.SimulationScreen) {
	s := tcell.NewSimulationScreen("UTF-8")
	if err := s.Init(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(s.Fini)
	s.SetSize(w, h)
	p := newPanel(Source{Latest: func() logger.View { return measuringScene() }}, Options{}, func() {})
	p.see(s)
	p.SetRect(0, 0, w, h)
	return p, s
}
