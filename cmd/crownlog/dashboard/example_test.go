package dashboard_test

import (
	"context"
	"fmt"
	"strings"

	"github.com/gdamore/tcell/v2"

	"crownlog/cmd/crownlog/dashboard"
	"crownlog/logger"
	"crownlog/logger/record"
)

// A memoryScreen calls shown with its first row after each picture.
type memoryScreen struct {
	tcell.SimulationScreen
	shown func(row string)
}

func (s memoryScreen) Show() {
	s.SimulationScreen.Show()
	cells, w, _ := s.GetContents()
	var row strings.Builder
	for _, c := range cells[:w] {
		row.WriteString(string(c.Runes))
	}
	s.shown(row.String())
}

// A dashboard shows the view it is given until it is told to stop. This one is
// drawn on a screen in memory; a nil screen is the terminal.
func ExampleRun() {
	ctx, stop := context.WithCancel(context.Background())
	screen := memoryScreen{tcell.NewSimulationScreen("UTF-8"), func(row string) {
		fmt.Println(strings.Join(strings.Fields(row), " "))
		stop()
	}}
	view := logger.View{Vehicle: "fleet 12", Stored: 3}
	view.Stage, view.Feature = record.StageAsFound, record.FeatureBacklash
	err := dashboard.Run(ctx, screen, dashboard.Source{Latest: func() logger.View { return view }})
	fmt.Println(err)
	// Output:
	// fleet 12 · as-found · backlash 3 stored
	// <nil>
}
