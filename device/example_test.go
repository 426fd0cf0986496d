package device_test

import (
	"context"
	"fmt"
	"io"
	"net"
	"strconv"
	"strings"
	"time"

	"crownlog/device"
	"crownlog/device/frame"
)

// A capture is a port in memory: what a gauge sent, then its cable is pulled.
type capture struct{ io.Reader }

func (capture) Write(p []byte) (int, error)        { return len(p), nil }
func (capture) Close() error                       { return nil }
func (capture) SetReadTimeout(time.Duration) error { return nil }

// A gauge is read from the bytes it sent, through the same code as from a
// serial port; for one of those the Opener is device.PortOpener.
func ExampleGauge() {
	profile, _, err := device.FindProfile("text")
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

// A bridge on the network is opened as a serial port is, by its name.
func ExamplePortOpener() {
	bridge, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer bridge.Close()
	go func() { // stands for the gauge and its bridge
		if c, err := bridge.Accept(); err == nil {
			io.WriteString(c, "+0.172 mm\r\n+0.173 mm\r\n")
		}
	}()
	open := device.PortOpener("tcp://"+bridge.Addr().String(), device.Serial{})
	port, _, err := open(context.Background())
	if err != nil {
		fmt.Println(err)
		return
	}
	defer port.Close()
	decoder, err := device.Profile{Name: "dial", Frame: device.FrameText}.NewDecoder()
	if err != nil {
		fmt.Println(err)
		return
	}
	buf := make([]byte, 256)
	for heard := 0; heard < 2; {
		n, err := port.Read(buf)
		if err != nil {
			fmt.Println(err)
			return
		}
		decoder.Feed(time.Now(), buf[:n], func(f *frame.Frame) {
			heard++
			fmt.Println(f.Value, f.Unit)
		})
	}
	// Output:
	// 0.172 mm
	// 0.173 mm
}

// A gauge read by eye sends the same events as one on a port.
func ExampleNewKeyed() {
	parse := func(line string) ([]frame.KeyedValue, error) {
		number, unit, _ := strings.Cut(line, " ")
		v, err := strconv.ParseFloat(number, 64)
		return []frame.KeyedValue{{Value: v, Unit: unit}}, err
	}
	events := make(chan device.Event, 8)
	typed := strings.NewReader("0.17\n0.007 in\nabout 0.2\n")
	if err := device.NewKeyed("dial", "mm", typed, parse, time.Now).Run(context.Background(), events); err != nil {
		fmt.Println(err)
		return
	}
	close(events) // the input has ended
	for ev := range events {
		if ev.Kind == device.EventReading {
			fmt.Println(ev.Reading.Value, ev.Reading.Unit)
		} else {
			fmt.Println(ev.Kind, ev.Text)
		}
	}
	// Output:
	// 0.17 mm
	// 0.007 in
	// garbled "about 0.2": strconv.ParseFloat: parsing "about": invalid syntax
	// end end of the typed values
}
