package device_test

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"crownlog/device"
)

// A capture is a port in memory: what a gauge sent, then its cable is pulled.
type capture struct{ io.Reader }

func (capture) Write(p []byte) (int, error)        { return len(p), nil }
func (capture) Close() error                       { return nil }
func (capture) SetReadTimeout(time.Duration) error { return nil }

// A gauge is read from the bytes it sent, through the same code as from a
// serial port; for one of those the Opener is device.PortOpener.
func ExampleGauge() {
	profile, err := device.FindProfile("text")
	if err != nil {
		fmt.Println(err)
		return
	}
	open := func(context.Context) (device.Port, string, error) {
		return capture{strings.NewReader("+0.120 mm\r\n+0.185 mm HOLD\r\n+0.1?0 mm\r\n")}, "capture", nil
	}
	ctx, cancel := context.WithCancel(context.Background())
	events, done := make(chan device.Event), make(chan error)
	go func() { done <- device.NewGauge("dial", profile, open, time.Now).Run(ctx, events) }()
	for running := true; running; {
		switch ev := <-events; ev.Kind {
		case device.EventReading:
			fmt.Println(ev.Reading.Value, ev.Reading.Unit, ev.Reading.Flags)
		case device.EventGarbled:
			fmt.Println(ev.Text)
		case device.EventLost:
			running = false
		}
	}
	cancel()
	fmt.Println(<-done)
	// Output:
	// 0.12 mm 0
	// 0.185 mm 1
	// unexpected character: "+0.1?0 mm"
	// <nil>
}
