package dashboard

import (
	"fmt"
	"testing"
	"time"

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
			v := measuringScene()
			b.ReportAllocs()
			for b.Loop() {
				paintRound(newCanvas(z.w, z.h, false), roundScene{View: v})
			}
		})
		b.Run(fmt.Sprintf("canvas/%dx%d", z.w, z.h), func(b *testing.B) {
			p, s := benchPanel(b, z.w, z.h)
			views := benchViews()
			i := 0
			b.ReportAllocs()
			for b.Loop() {
				p.show(views[i%len(views)])
				i++
				p.Draw(s)
				s.Show()
			}
		})
		b.Run(fmt.Sprintf("textview/%dx%d", z.w, z.h), func(b *testing.B) {
			_, s := benchPanel(b, z.w, z.h)
			var texts []string
			for _, v := range benchViews() {
				texts = append(texts, screenText(v, z.w, z.h))
			}
			i := 0
			box := tview.NewTextView()
			box.SetRect(0, 0, z.w, z.h)
			b.ReportAllocs()
			for b.Loop() {
				box.SetText(texts[i%len(texts)])
				i++
				s.Clear()
				box.Draw(s)
				s.Show()
			}
		})
	}
}

// benchViews are four seconds of a round, 30 views a second.
func benchViews() []logger.View {
	views := make([]logger.View, 120)
	for i := range views {
		v := measuringScene()
		s := float64(i) / 30
		v.At = v.At.Add(time.Duration(s * float64(time.Second)))
		v.Trace, v.Stops = rocking(s, -0.012, 0.157)
		v.Reading = v.Trace[len(v.Trace)-1].X
		views[i] = v
	}
	return views
}

func benchPanel(b *testing.B, w, h int) (*panel, tcell.SimulationScreen) {
	s := tcell.NewSimulationScreen("UTF-8")
	if err := s.Init(); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(s.Fini)
	s.SetSize(w, h)
	p := newPanel(Source{Latest: func() logger.View { return measuringScene() }}, func() {})
	p.SetRect(0, 0, w, h)
	return p, s
}
