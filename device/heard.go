package device

import (
	"encoding/hex"
	"fmt"
	"time"

	"crownlog/device/frame"
)

// longestSpread bounds the time over which the frames of one Read are spread.
// Bridges between USB and a serial line hand bytes on after 16 ms at most as
// they come, and after 255 ms at their slowest setting (common practice, no
// source).
const longestSpread = 250 * time.Millisecond

// A heard is a frame that waits to be told. Its time is not settled before it
// is known how many frames came with it.
type heard struct {
	frame.Frame           // without Raw
	raw         string    // of a sound frame as a Reading keeps it; of another quoted
	at          time.Time // of the Read that completed it
}

// frame takes one decoded frame.
func (g *Gauge) frame(f *frame.Frame) {
	at := g.stamp
	if f.Late && len(g.doubt) > 0 {
		at = g.doubt[0]
		g.doubt = append(g.doubt[:0], g.doubt[1:]...)
	}
	if g.ask.hears(f) {
		return
	}
	if !g.start.hold(g, f, at) {
		g.keep(f, at)
	}
}

// keep puts a frame behind those to be told.
func (g *Gauge) keep(f *frame.Frame, at time.Time) {
	h := heard{Frame: *f, at: at}
	h.Raw = nil
	if f.Bad == "" {
		h.raw = g.raw(f)
	} else {
		h.raw = quote(f)
	}
	g.batch = append(g.batch, h)
}

// tellAll turns the frames that wait into events. Those of one Read came one
// after the other since the Read before: a bridge collects bytes, and a gauge
// of a thousand readings a second would else stand still sixteen readings long
// and then jump.
func (g *Gauge) tellAll() {
	now := 0
	for i := range g.batch {
		if g.batch[i].at.Equal(g.stamp) {
			now++
		}
	}
	step := g.watch.step(g.stamp, now)
	if now > 0 {
		g.watch.pace(g.stamp, now)
	}
	for i := range g.batch {
		h := &g.batch[i]
		if h.at.Equal(g.stamp) {
			now--
			h.at = h.at.Add(-time.Duration(now) * step)
		}
		g.tell(h)
	}
	g.batch = g.batch[:0]
}

// tell turns one frame into an event.
func (g *Gauge) tell(h *heard) {
	if h.Bad != "" {
		g.send(Event{Kind: EventGarbled, Time: h.at, Gauge: g.label, Text: h.Bad + ": " + h.raw, Flags: h.Flags})
		return
	}
	r := Reading{Time: h.at, Gauge: g.label, Raw: h.raw, Value: h.Value, Unit: h.Unit}
	if r.Unit == "" {
		r.Unit = g.profile.Unit
	}
	r.Flags = g.watch.mark(&h.Frame, r)
	if g.profile.Sends == SendsOnPress {
		r.Flags |= frame.FlagPress
	}
	g.send(Event{Kind: EventReading, Time: r.Time, Gauge: g.label, Reading: r})
}

// raw returns the text of a frame as a Reading keeps it.
func (g *Gauge) raw(f *frame.Frame) string {
	if !f.Binary {
		return g.raws.text(f.Raw)
	}
	var short [64]byte
	return g.raws.text(hex.AppendEncode(short[:0], f.Raw))
}

// quote shows a broken frame in an event, shortened.
func quote(f *frame.Frame) string {
	const most = 60
	raw, dots := f.Raw, ""
	if len(raw) > most {
		raw, dots = raw[:most], "..."
	}
	if f.Binary {
		return hex.EncodeToString(raw) + dots
	}
	return fmt.Sprintf("%q%s", raw, dots)
}

func bytesOf(n int) string {
	if n == 1 {
		return "1 byte"
	}
	return fmt.Sprintf("%d bytes", n)
}

func (g *Gauge) event(k EventKind, text string) {
	g.send(Event{Kind: k, Time: g.now(), Gauge: g.label, Text: text})
}

// send hands on an event. At the end of the run it is lost only if nobody
// listens and there is no room left.
func (g *Gauge) send(ev Event) {
	select {
	case g.out <- ev:
		return
	default:
	}
	select {
	case g.out <- ev:
	case <-g.ctx.Done():
	}
}

// An interner returns strings for bytes without making the same one twice:
// a gauge repeats its digits.
type interner struct{ seen map[string]string }

// internMost bounds the memory of an interner.
const internMost = 4096

func (in *interner) text(b []byte) string {
	if len(b) > 64 {
		return string(b)
	}
	if s, ok := in.seen[string(b)]; ok {
		return s
	}
	if in.seen == nil || len(in.seen) >= internMost {
		in.seen = make(map[string]string, 256)
	}
	s := string(b)
	in.seen[s] = s
	return s
}
