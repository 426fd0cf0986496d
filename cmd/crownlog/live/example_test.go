package live_test

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger"
	"crownlog/logger/feature"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A round runs until every position is measured. Here the gauge is a dial that
// is read by eye and typed in.
func ExampleMeasure() {
	dir, err := os.MkdirTemp("", "example-")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	folder, err := job.Create(filepath.Join(dir, "job"), sheet.ExampleTOML())
	if err != nil {
		fmt.Println(err)
		return
	}
	defer folder.Close()

	session := live.Session{Folder: folder, Label: "dial"}
	show := func(ev logger.Event) {
		if ev.Kind == logger.EventCaptured {
			fmt.Printf("%s: %.2f %s\n", ev.Position.Label, ev.Capture.Value, ev.Capture.Unit)
		}
	}
	round, err := session.Open(job.Request{Stage: record.StageAsFound, Feature: record.FeatureBacklash}, "", show)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer round.Close()
	parse := func(line string) ([]frame.KeyedValue, error) {
		return feature.ParseTyped(record.FeatureBacklash, line, 0)
	}
	typed := device.NewKeyed("dial", "mm", strings.NewReader("0.15\n0.16\n0.17\n0.16\n0.15\n0.16\n0.17\n0.16\n"), parse, time.Now)
	out, err := live.Measure(context.Background(), live.Config{Round: round.Round}, typed)
	fmt.Println(out.Done, out.View.Stored, err)
	// Output:
	// 0°: 0.15 mm
	// 45°: 0.16 mm
	// 90°: 0.17 mm
	// 135°: 0.16 mm
	// 180°: 0.15 mm
	// 225°: 0.16 mm
	// 270°: 0.17 mm
	// 315°: 0.16 mm
	// true 8 <nil>
}
