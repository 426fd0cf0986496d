package simbench_test

import (
	"context"
	"fmt"

	"crownlog/device"
	"crownlog/device/simbench"
)

// A round is rehearsed on an axle whose true backlash is known.
func ExampleNew() {
	bench, err := simbench.New(simbench.Config{Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer bench.Close()
	profile, _, err := device.FindProfile("text")
	if err != nil {
		fmt.Println(err)
		return
	}
	bench.Do(simbench.Rock())
	dial := bench.Indicator
	ctx, cancel := context.WithCancel(context.Background())
	events, done := make(chan device.Event), make(chan error, 2)
	go func() { done <- bench.Run(ctx) }()
	go func() { done <- device.NewGauge("dial", profile, dial.Open, bench.Now).Run(ctx, events) }()
	low, high := 0.0, 0.0
	for range 200 {
		ev := <-events
		low, high = min(low, ev.Reading.Value), max(high, ev.Reading.Value)
		dial.Ack() // the next reading is not sent before
	}
	cancel()
	<-done
	<-done
	fmt.Printf("true backlash %.2f mm; with the push of the hand the dial moved %.2f mm\n", bench.TruthAt(0), high-low)
	// Output:
	// true backlash 0.18 mm; with the push of the hand the dial moved 0.24 mm
}
