package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"

	"crownlog/device"
)

type listenCmd struct {
	Port  []string      `arg:"" help:"Serial ports; several gauges are heard at once."`
	Gauge string        `help:"Gauge profile, by name or file." default:"text"`
	JSON  bool          `name:"json" help:"Print one JSON object a line."`
	Raw   string        `help:"Keep the bytes of the gauge, as they arrive, in this file." placeholder:"FILE"`
	For   time.Duration `help:"Stop after this long; 0: until interrupted."`
	Count int           `help:"Stop after this many readings; 0: do not count."`
	Wait  time.Duration `help:"How long a lost gauge may stay away." default:"30s"`
}

// A listenLine is one event of a gauge as listen --json prints it.
type listenLine struct {
	Event string    `json:"event"`
	Time  time.Time `json:"time"`
	Gauge string    `json:"gauge"`
	Raw   string    `json:"raw,omitempty"`
	Value *number   `json:"value,omitempty"`
	Unit  string    `json:"unit,omitempty"`
	Flags []string  `json:"flags,omitempty"`
	Text  string    `json:"text,omitempty"`
}

// eventWords names the kinds of event in the output.
var eventWords = map[device.EventKind]string{
	device.EventReading: "reading", device.EventGarbled: "garbled", device.EventSilent: "silent",
	device.EventLost: "lost", device.EventBack: "back", device.EventEnd: "end",
}

// Run prints what the gauges send until it is told to stop.
func (c *listenCmd) Run(ctx context.Context, con *console) error {
	profile, err := device.FindProfile(c.Gauge)
	if err != nil {
		return err
	}
	if c.Raw != "" && len(c.Port) > 1 {
		return usagef("listen to one port at a time", "--raw keeps the bytes of one gauge")
	}
	var raw io.WriteCloser
	if c.Raw != "" {
		if raw, err = os.OpenFile(c.Raw, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644); err != nil {
			if errors.Is(err, os.ErrExist) {
				return usagef("name a new file", "%w", err)
			}
			return err
		}
	}
	if c.For > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, c.For)
		defer cancel()
	}
	var sources []source
	for _, port := range c.Port {
		open := device.SerialOpener(port, profile.Serial)
		if raw != nil {
			open = tapped(open, raw)
		}
		sources = append(sources, device.NewGauge(port, profile, open, time.Now))
	}
	g := startGauges(ctx, sources...)
	err = c.listen(ctx, con, g)
	g.stop()
	if raw != nil {
		err = errors.Join(err, raw.Close())
	}
	return err
}

// listen prints events until ctx ends, enough was heard or a gauge is gone for
// good.
func (c *listenCmd) listen(ctx context.Context, con *console, g *gauges) error {
	heard := 0
	lost := map[string]string{}
	var timeout <-chan time.Time
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-g.failed:
			for ev := range g.queued() {
				if printErr := c.print(con, ev); printErr != nil {
					return errors.Join(err, printErr)
				}
			}
			return err
		case <-timeout:
			for port, why := range lost {
				return devicef("check the cable and start again", "%q went away and did not come back: %s", port, why)
			}
		case ev := <-g.events:
			if err := c.print(con, ev); err != nil {
				return err
			}
			switch ev.Kind {
			case device.EventReading:
				if heard++; heard == c.Count {
					return nil
				}
			case device.EventLost:
				lost[ev.Gauge] = ev.Text
				timeout = time.After(c.Wait)
			case device.EventBack:
				if delete(lost, ev.Gauge); len(lost) == 0 {
					timeout = nil
				}
			}
		}
	}
}

// print puts readings on out; as plain text everything else goes to err.
func (c *listenCmd) print(con *console, ev device.Event) error {
	if c.JSON {
		return con.json(newListenLine(ev))
	}
	if ev.Kind != device.EventReading {
		con.say("%s %s: %s", ev.Gauge, eventWords[ev.Kind], ev.Text)
		return nil
	}
	r := ev.Reading
	line := strconv.FormatFloat(r.Value, 'f', -1, 64) + prefixed(" ", r.Unit)
	if len(c.Port) > 1 {
		line = r.Gauge + " " + line
	}
	for _, f := range flagWords(r.Flags) {
		line += " [" + f + "]"
	}
	_, err := fmt.Fprintln(con.out, line)
	return err
}

func newListenLine(ev device.Event) listenLine {
	l := listenLine{Event: eventWords[ev.Kind], Time: ev.Time, Gauge: ev.Gauge, Text: ev.Text}
	if ev.Kind == device.EventReading {
		v := number(ev.Reading.Value)
		l.Raw, l.Value, l.Unit, l.Flags = ev.Reading.Raw, &v, ev.Reading.Unit, flagWords(ev.Reading.Flags)
	}
	return l
}

// flagWords spells out the doubts about a reading.
func flagWords(f device.Flags) []string {
	words := []struct {
		flag device.Flags
		word string
	}{
		{device.FlagHold, "hold"}, {device.FlagLowBattery, "low battery"}, {device.FlagUnitChanged, "unit changed"},
		{device.FlagDuplicate, "duplicate"}, {device.FlagOverRange, "over range"}, {device.FlagFrozen, "frozen"},
	}
	var out []string
	for _, w := range words {
		if f&w.flag != 0 {
			out = append(out, w.word)
		}
	}
	return out
}

// tapped opens ports whose bytes are also written to w.
func tapped(open device.Opener, w io.Writer) device.Opener {
	return func(ctx context.Context) (device.Port, string, error) {
		port, name, err := open(ctx)
		if err != nil {
			return nil, "", err
		}
		return &tap{Port: port, w: w}, name, nil
	}
}

// A tap is a port that keeps a copy of what is read from it.
type tap struct {
	device.Port
	w io.Writer
}

// Read reads from the port and writes the bytes to the copy first.
func (t *tap) Read(p []byte) (int, error) {
	n, err := t.Port.Read(p)
	if n > 0 {
		if _, werr := t.w.Write(p[:n]); werr != nil {
			return 0, fmt.Errorf("raw capture: %w", werr)
		}
	}
	return n, err
}
