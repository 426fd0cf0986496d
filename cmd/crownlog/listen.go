package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"slices"
	"strconv"
	"strings"
	"time"

	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/report"
)

type listenCmd struct {
	Port  []string      `arg:"" help:"Ports: /dev/ttyUSB0, COM3, tcp://host:port, rfc2217://host:port, keyboard:VVVV:PPPP; several gauges are heard at once."`
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
	var raw *rawCapture
	if c.Raw != "" {
		if raw, err = newRawCapture(c.Raw); err != nil {
			return err
		}
	}
	if c.For > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, c.For)
		defer cancel()
	}
	var sources []live.Source
	for _, port := range c.Port {
		open := device.PortOpener(port, profile.Serial)
		if raw != nil {
			open = raw.tapped(open)
		}
		sources = append(sources, device.NewGauge(port, profile.On(port), open, time.Now))
	}
	g := live.Start(ctx, sources...)
	err = c.listen(ctx, con, g, raw.broken())
	g.Stop()
	if err == nil && ctx.Err() != nil {
		err = c.printQueued(con, g)
	}
	return errors.Join(err, raw.Close())
}

// listen prints events until ctx ends, enough was heard, a gauge is gone for
// good or its bytes cannot be kept.
func (c *listenCmd) listen(ctx context.Context, con *console, g *live.Gauges, broken <-chan error) error {
	heard := 0
	var away absences
	for {
		select {
		case <-ctx.Done():
			return nil
		case err := <-g.Failed():
			if printErr := c.printQueued(con, g); printErr != nil {
				return errors.Join(err, printErr)
			}
			return err
		case err := <-broken:
			return err
		case <-away.after(c.Wait):
			return devicef("check the cable and start again", "%q went away and did not come back: %s", away[0].Gauge, away[0].Text)
		case ev := <-g.Events():
			if err := c.print(con, ev); err != nil {
				return err
			}
			away.note(ev)
			if ev.Kind == device.EventReading {
				if heard++; heard == c.Count {
					return nil
				}
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

// absences are the gauges that are away, the longest first.
type absences []device.Event

// note keeps when a gauge was lost and what was said of it last.
func (a *absences) note(ev device.Event) {
	i := slices.IndexFunc(*a, func(gone device.Event) bool { return gone.Gauge == ev.Gauge })
	switch {
	case ev.Kind == device.EventLost && i < 0:
		ev.Time = time.Now()
		*a = append(*a, ev)
	case ev.Kind == device.EventLost:
		(*a)[i].Text = ev.Text
	case ev.Kind == device.EventBack && i >= 0:
		*a = slices.Delete(*a, i, i+1)
	}
}

// after tells when some gauge has been away for wait; never where none is, or
// wait is 0.
func (a absences) after(wait time.Duration) <-chan time.Time {
	if len(a) == 0 || wait == 0 {
		return nil
	}
	return time.After(time.Until(a[0].Time.Add(wait)))
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

// listenLine is ev as listen --json prints it.
func listenLine(ev device.Event) report.Object {
	r, flags, heard := ev.Reading, ev.Flags, ev.Kind == device.EventReading
	if heard {
		flags = r.Flags
	}
	words := flagWords(flags)
	return slices.Concat(
		report.Object{{"event", ev.Kind.String()}, {"time", ev.Time.Format(time.RFC3339Nano)}, {"gauge", ev.Gauge}},
		given(heard && r.Raw != "", "raw", r.Raw), given(heard, "value", r.Value), given(heard && r.Unit != "", "unit", r.Unit),
		given(len(words) > 0, "flags", words), given(ev.Text != "", "text", ev.Text),
	)
}

// flagWords spells out the doubts about a reading; a press is none.
func flagWords(f frame.Flags) []string {
	words := (f &^ frame.FlagPress).Words()
	for i, w := range words {
		words[i] = strings.ReplaceAll(w, "-", " ")
	}
	return words
}

// A rawCapture keeps the bytes of a gauge in a new file; one that none came for is
// removed again. A nil one keeps nothing.
type rawCapture struct {
	*os.File
	failed chan error
}

// newRawCapture refuses a file that is there already.
func newRawCapture(path string) (*rawCapture, error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil, usagef("name a new file", "%s: file exists", path)
	}
	return &rawCapture{file, make(chan error, 1)}, err
}

// broken receives the error of the first bytes that could not be kept.
func (r *rawCapture) broken() <-chan error {
	if r == nil {
		return nil
	}
	return r.failed
}

// Close closes the file.
func (r *rawCapture) Close() error {
	if r == nil {
		return nil
	}
	info, err := r.Stat()
	err = errors.Join(err, r.File.Close())
	if err == nil && info.Size() == 0 {
		err = os.Remove(r.Name())
	}
	return err
}

// tapped opens ports whose bytes are also kept.
func (r *rawCapture) tapped(open device.Opener) device.Opener {
	return func(ctx context.Context) (device.Port, string, error) {
		port, name, err := open(ctx)
		if err != nil {
			return nil, "", err
		}
		return &tap{Port: port, raw: r}, name, nil
	}
}

// A tap is a port that keeps a copy of what is read from it.
type tap struct {
	device.Port
	raw *rawCapture
}

// Read reads from the port and keeps the bytes before they are handed on.
func (t *tap) Read(p []byte) (int, error) {
	n, err := t.Port.Read(p)
	if n > 0 {
		if _, kept := t.raw.Write(p[:n]); kept != nil {
			kept = fmt.Errorf("raw capture: %w", kept)
			select {
			case t.raw.failed <- kept:
			default:
			}
			return 0, kept
		}
	}
	return n, err
}
