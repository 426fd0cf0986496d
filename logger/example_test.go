package logger_test

import (
	"fmt"
	"log"

	"crownlog/logger"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// captures is a store in memory; a job folder keeps its own on disk.
type captures []record.Capture

func (cs *captures) Append(c record.Capture) (record.Capture, error) {
	c.ID = len(*cs) + 1
	*cs = append(*cs, c)
	return c, nil
}

func (cs *captures) Captures() []record.Capture { return *cs }

// A backlash round of four places, read off a dial and typed.
func ExampleRound() {
	s := sheet.Example()
	s.Positions = 4
	round, err := logger.NewRound(logger.RoundConfig{
		Sheet: s, Stage: record.StageSetUp, Feature: record.FeatureBacklash, Store: &captures{}, Keyed: true,
		Listen: func(e logger.Event) {
			if e.Kind == logger.EventCaptured {
				fmt.Println(e.Text)
			}
		},
	})
	if err != nil {
		log.Fatal(err)
	}
	for _, mm := range []float64{0.16, 0.17, 0.15, 0.16} {
		if err := round.Command(logger.CmdKeyed(mm, "mm")); err != nil {
			log.Fatal(err)
		}
	}
	v := round.View()
	fmt.Printf("%s: %s; %s\n", v.Verdict, v.Reason, v.Action)
	// Output:
	// backlash 0°: 0.160 ± 0.011 mm
	// backlash 90°: 0.170 ± 0.011 mm
	// backlash 180°: 0.150 ± 0.011 mm
	// backlash 270°: 0.160 ± 0.011 mm
	// inside: all conditions met; Inside the window: leave the adjusters alone.
}
