package device

import (
	"time"

	"crownlog/device/frame"
)

// A start guards the first frame after a port is opened. A gauge that talks
// all the time is then heard from the middle of a line, and "0.123" may be
// the end of "10.123". The first line is kept back until the second shows
// whether it is whole, unless the line was quiet before it.
type start struct {
	begun   bool // bytes have arrived
	sure    bool // the first frame is whole, or past
	held    frame.Frame
	at      time.Time // of the Read that completed it
	holding bool      // held is in use
}

// idle notes a pause: what was held is whole, and the next byte starts a frame.
func (s *start) idle(g *Gauge) {
	s.release(g)
	if !s.begun {
		s.sure = true
	}
}

// bytes notes that bytes arrived.
func (s *start) bytes(p Profile) {
	s.begun = true
	if p.Frame != FrameText || p.Mode == ModeAsked {
		s.sure = true
	}
}

// hold reports whether it keeps the frame back.
func (s *start) hold(g *Gauge, f *frame.Frame, at time.Time) bool {
	if s.sure {
		return false
	}
	if !s.holding && f.Bad == "" {
		s.holding, s.held, s.at = true, *f, at
		s.held.Raw = append([]byte(nil), f.Raw...)
		g.watch.heard(at)
		return true
	}
	if s.holding && !wholeBefore(s.held.Raw, f.Raw) {
		s.held.Bad = "first line may be cut"
	}
	s.release(g)
	s.sure = true
	return false
}

// release hands on the frame kept back, if there is one.
func (s *start) release(g *Gauge) {
	if s.holding {
		s.holding, s.sure = false, true
		g.keep(&s.held, s.at)
	}
}

// wholeBefore reports whether a first line cannot have lost its head, seen
// the line after it.
func wholeBefore(first, second []byte) bool {
	return first[0] == '+' || first[0] == '-' || len(first) >= len(second)
}
