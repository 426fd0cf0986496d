package report_test

import (
	"fmt"
	"os"
	"time"

	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/sheet"
)

// A job of two stages, its summary and what the caps did to the backlash.
func Example() {
	lower, upper := 0.13, 0.18
	job := sheet.Sheet{
		Positions: 4,
		Plunger:   sheet.Plunger{Measured: "normal", Spec: "normal", ContactRadius: 106, HeelRadius: 106},
		Gauge:     sheet.GaugeData{ResolutionMM: 0.001},
		Windows:   []sheet.Window{{Feature: record.FeatureBacklash, Unit: "mm", Lower: &lower, Upper: &upper}},
	}
	var captures []record.Capture
	measure := func(stage string, values ...float64) {
		for i, v := range values {
			captures = append(captures, record.Capture{
				ID: len(captures) + 1, Stage: stage, Feature: record.FeatureBacklash, Position: i + 1, AngleDeg: 90 * float64(i),
				Value: v, Unit: "mm", U: 0.002, Quality: record.QualityOK, Convention: "normal", RadiusMM: 106,
			})
		}
	}
	measure(record.StageSetUp, 0.142, 0.151, 0.158, 0.149)
	measure(record.StageCaps, 0.142, 0.151, 0.168, 0.149)

	d := report.Build(job, captures, time.Date(2026, 3, 14, 16, 30, 0, 0, time.UTC))
	fmt.Println(d.Headline)
	for _, line := range d.Judged {
		fmt.Printf("%s, %s: %.3f mm, %s, %s\n", line.Feature, line.Stage, line.Value, line.Verdict, line.Text)
	}
	if err := report.WriteChanges(os.Stdout, d); err != nil {
		fmt.Println(err)
	}
	// Output:
	// 1 measured, all inside the limits you entered. NOT MEASURED: backlash (as-found), contact pattern, backlash (final), closing up. NOT ASKED FOR IN job.toml: crown wheel bolts, run-out of the back face, bearing cap bolts, total preload
	// backlash, caps-torqued: 0.152 mm, inside, 4 positions, 0.142 to 0.168, spread 0.026
	// set up - caps torqued: The mean did not change beyond 0.0080 mm when the caps were torqued; position 3 did.
	//   position 3 moved by +0.010 mm, from 0.158 to 0.168 mm (uncertainty 0.0057)
}
