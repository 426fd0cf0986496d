package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"

	"crownlog/analysis/units"
	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/report"
	"crownlog/logger/words"
)

type listenCmd struct {
	Port  []string      `arg:"" help:"Ports: /dev/ttyUSB0, COM3, tcp://host:port, rfc2217://host:port, keyboard:VVVV:PPPP, or keyboard: for a cable that types into this window; several gauges are heard at once."`
	Gauge string        `help:"Gauge profile, by name or file." default:"text"`
	JSON  bool          `name:"json" help:"Print one JSON object a line."`
	Raw   string        `help:"Keep the bytes of the gauge, as they arrive, in this file." placeholder:"FILE"`
	For   time.Duration `help:"Stop after this long; 0: until interrupted."`
	Count int           `help:"Stop after this many readings; 0: do not count."`
	Wait  time.Duration `help:"How long a lost gauge may stay away; 0: for ever." default:"30s"`
}

// Run prints what the gauges send until it is told to stop.
func (c *listenCmd) Run(ctx context.Context, con *console) error {
	profile, err := findProfile(con, c.Gauge)
	if err != nil {
		return err
	}
	for i, port := range c.Port {
		if slices.Contains(c.Port[:i], port) {
			return usagef("one gauge, one port", "port %s is given twice", port)
		}
	}
	if c.Raw != "" && len(c.Port) > 1 {
		return usagef("listen to one port at a time", "--raw keeps the bytes of one gauge")
	}
	var raw *os.File
	if c.Raw != "" {
		if raw, err = os.OpenFile(c.Raw, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644); err != nil {
			return err
		}
	}
	if c.For > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeoutCause(ctx, c.For, context.Canceled)
		defer cancel()
	}
	ctx, end := context.WithCancelCause(ctx)
	var sources []live.Source
	for _, port := range c.Port {
		open := device.PortOpener(port, profile.Serial)
		if raw != nil {
			open = tapped(open, raw, end)
		}
		sources = append(sources, device.NewGauge(port, profile.On(port), open, time.Now))
	}
	g := live.Start(ctx, sources...)
	err = c.listen(ctx, end, con, g)
	g.Stop()
	if errors.Is(err, context.Canceled) {
		err = c.printQueued(con, g)
	}
	if raw != nil {
		err = errors.Join(err, closeRaw(raw))
	}
	return err
}

// listen prints events until ctx ends, of which it returns the cause, enough was heard
// or a source fails. A gauge that is gone for good ends ctx.
func (c *listenCmd) listen(ctx context.Context, end context.CancelCauseFunc, con *console, g *live.Gauges) error {
	heard, away := 0, make(map[string]*time.Timer)
	for {
		select {
		case <-ctx.Done():
			return context.Cause(ctx)
		case err := <-g.Failed():
			return errors.Join(err, c.printQueued(con, g))
		case ev := <-g.Events():
			if err := c.print(con, ev); err != nil {
				return err
			}
			timer := away[ev.Gauge]
			switch {
			case ev.Kind == device.EventReading:
				if heard++; heard == c.Count {
					return nil
				}
			case ev.Kind == device.EventLost && timer == nil && c.Wait > 0:
				gone := devicef("check the cable and start again", "%q went away and did not come back: %s", ev.Gauge, ev.Text)
				away[ev.Gauge] = time.AfterFunc(c.Wait, func() { end(gone) })
			case ev.Kind == device.EventBack && timer != nil:
				timer.Stop()
				delete(away, ev.Gauge)
			}
		}
	}
}

// printQueued prints the events that wait.
func (c *listenCmd) printQueued(con *console, g *live.Gauges) error {
	for ev := range g.Queued() {
		if err := c.print(con, ev); err != nil {
			return err
		}
	}
	return nil
}

// print puts readings on out; as plain text everything else goes to err.
func (c *listenCmd) print(con *console, ev device.Event) error {
	if c.JSON {
		return con.json(listenLine(ev))
	}
	if ev.Kind != device.EventReading {
		con.say("%s %s: %s", ev.Gauge, ev.Kind, ev.Text)
		return nil
	}
	r := ev.Reading
	line := words.Given(len(c.Port) > 1, r.Gauge+" ") + units.Exact(r.Value) + prefixed(" ", r.Unit)
	for _, f := range flagWords(r.Flags) {
		line += " [" + f + "]"
	}
	_, err := fmt.Fprintln(con.out, line)
	return err
}

// listenLine is ev as listen --json prints it.
func listenLine(ev device.Event) report.Object {
	r, flags, heard := ev.Reading, ev.Flags, ev.Kind == device.EventReading
	if heard {
		flags = r.Flags
	}
	doubts := flagWords(flags)
	return slices.Concat(
		report.Object{{"event", ev.Kind.String()}, {"time", ev.Time.Format(time.RFC3339Nano)}, {"gauge", ev.Gauge}},
		given(heard && r.Raw != "", "raw", r.Raw), given(heard, "value", r.Value), given(heard && r.Unit != "", "unit", r.Unit),
		given(len(doubts) > 0, "flags", doubts), given(ev.Text != "", "text", ev.Text),
	)
}

// flagWords spells out the doubts about a reading; a press is none.
func flagWords(f frame.Flags) []string {
	list := (f &^ frame.FlagPress).Words()
	for i, w := range list {
		list[i] = strings.ReplaceAll(w, "-", " ")
	}
	return list
}

// closeRaw closes a file of kept bytes. One that none came for is removed again.
func closeRaw(raw *os.File) error {
	info, err := raw.Stat()
	err = errors.Join(err, raw.Close())
	if err == nil && info.Size() == 0 {
		err = os.Remove(raw.Name())
	}
	return err
}

// tapped opens ports whose bytes are also written to raw; end is told of the first
// that could not be.
func tapped(open device.Opener, raw io.Writer, end context.CancelCauseFunc) device.Opener {
	return func(ctx context.Context) (device.Port, string, error) {
		port, name, err := open(ctx)
		if err != nil {
			return nil, "", err
		}
		return &tap{port, raw, end}, name, nil
	}
}

// A tap is a port that keeps a copy of what is read from it.
type tap struct {
	device.Port
	raw io.Writer
	end context.CancelCauseFunc
}

// Read reads from the port and keeps the bytes before they are handed on.
func (t *tap) Read(p []byte) (int, error) {
	n, err := t.Port.Read(p)
	if _, kept := t.raw.Write(p[:n]); kept != nil {
		t.end(fmt.Errorf("raw capture: %w", kept))
		return 0, kept
	}
	return n, err
}

type portsCmd struct {
	JSON bool `name:"json" help:"Print a JSON array."`
}

// listPorts lists the serial ports.
func listPorts() ([]device.PortInfo, error) {
	ports, err := device.ListPorts()
	if err != nil {
		err = devicef("name the port yourself", "list of serial ports: %w", err)
	}
	return ports, err
}

// Run lists the ports; it opens none of them.
func (c *portsCmd) Run(con *console) error {
	ports, err := listPorts()
	if err != nil {
		return err
	}
	ports = append(ports, device.Keyboards()...)
	if c.JSON {
		return con.json(append([]device.PortInfo{}, ports...)) // [] where there are none
	}
	if len(ports) == 0 {
		con.say("no serial port found; plug the gauge in, or name its port yourself")
		return nil
	}
	var rows [][]string
	for _, p := range ports {
		id := words.Given(p.USB && !strings.Contains(p.Name, p.Vendor), p.Vendor+":"+p.Product)
		rows = append(rows, []string{p.Name, id, strings.TrimSpace(p.Maker + " " + p.Title + prefixed(" ", p.Serial)), p.Link})
	}
	return printTable(con.out, rows)
}
