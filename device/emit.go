package device

import (
	"cmp"
	"fmt"
	"time"

	"crownlog/device/frame"
)

// longestSpread bounds the time over which the frames of one Read are spread.
// Bridges between USB and a serial line hand bytes on after 16 ms at most as
// they come, and after 255 ms at their slowest setting; those without a cable
// after up to 0.7 s (common practice, no source).
const longestSpread = time.Second

// A pending frame waits to be emitted: its time is not settled before it is
// known how many frames came with it.
type pending struct {
	frame.Frame        // without Raw
	raw         string // of a sound frame as a Reading keeps it; of another quoted
}

// queue puts a frame behind those to be emitted.
func (v *voice) queue(f *frame.Frame) {
	p := pending{Frame: *f}
	if p.raw = f.Text(); f.Bad != "" {
		p.raw = quote(f)
	}
	p.Raw = nil
	v.batch = append(v.batch, p)
}

// emitAll turns the frames that wait into events. Those of one Read came one
// after the other since the Read before: a bridge collects bytes, and a gauge
// of a thousand readings a second would else stand still sixteen readings long
// and then jump. Those that piled up while nobody read go on from the one before.
func (v *voice) emitAll() {
	now := 0
	for i := range v.batch {
		if v.batch[i].At.Equal(v.stamp) {
			now++
		}
	}
	step, end := v.monitor.step(v.stamp, now, v.behind), v.stamp
	if v.behind {
		end = v.monitor.last.Add(time.Duration(now) * step)
	}
	if now > 0 {
		v.monitor.pace(end, now)
	}
	for i := range v.batch {
		p := &v.batch[i]
		if p.At.Equal(v.stamp) {
			now--
			p.At = end.Add(-time.Duration(now) * step)
		}
		v.emit(p)
	}
	v.batch = v.batch[:0]
}

// emit turns one frame into an event.
func (v *voice) emit(p *pending) {
	if p.Bad != "" {
		v.send(Event{Kind: EventGarbled, Time: p.At, Gauge: v.label, Text: p.Bad + ": " + p.raw, Flags: p.Flags})
		return
	}
	r := Reading{Time: p.At.Add(-time.Duration(v.profile.Lag * float64(time.Second))), Gauge: v.label, Raw: p.raw, Value: p.Value, Unit: cmp.Or(p.Unit, v.profile.Unit)}
	r.Flags = v.monitor.mark(&p.Frame, r)
	if v.profile.Sends == SendsOnPress {
		r.Flags |= frame.FlagPress
	}
	v.send(Event{Kind: EventReading, Time: r.Time, Gauge: v.label, Reading: r})
}

func (v *voice) event(k EventKind, text string) {
	v.send(Event{Kind: k, Time: v.now(), Gauge: v.label, Text: text})
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

// quote shows a broken frame in an event, shortened to what fits on a line of
// a screen beside its reason.
func quote(f *frame.Frame) string {
	form, dots := "%.60q%s", ""
	if f.Binary {
		form = "%.60x%s"
	}
	if len(f.Raw) > 60 {
		dots = "..."
	}
	return fmt.Sprintf(form, f.Raw, dots)
}

func bytesOf(n int) string {
	if n == 1 {
		return "1 byte"
	}
	return fmt.Sprintf("%d bytes", n)
}
