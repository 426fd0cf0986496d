package device

import "time"

// A start guards the first frame after a port is opened. A gauge that talks
// all the time is then heard from the middle of a line, and "0.123" may be
// the end of "10.123". The first line is kept back until the second shows
// whether it is whole, unless the line was quiet before it.
type start struct {
	begun   bool // bytes have arrived
	sure    bool // the first frame is whole, or past
	held    Frame
	at      time.Time // its arrival
	holding bool      // held is in use
}

// idle notes a pause: what was held is whole, and the next byte starts a frame.
func (s *start) idle(g *Gauge) {
	if s.holding {
		s.release(g)
	}
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
func (s *start) hold(g *Gauge, f *Frame) bool {
	if s.sure {
		return false
	}
	if !s.holding && f.Bad == "" {
		s.holding, s.held, s.at = true, *f, g.stamp
		s.held.Raw = append([]byte(nil), f.Raw...)
		return true
	}
	if s.holding && !wholeBefore(s.held.Raw, f.Raw) {
		s.held.Bad = "first line may be cut"
	}
	s.release(g)
	return false
}

// release tells the held frame with the time it arrived.
func (s *start) release(g *Gauge) {
	s.sure = true
	if s.holding {
		s.holding = false
		now := g.stamp
		g.stamp = s.at
		g.tell(&s.held)
		g.stamp = now
	}
}

// wholeBefore reports whether a first line cannot have lost its head, seen
// the line after it.
func wholeBefore(first, second []byte) bool {
	return first[0] == '+' || first[0] == '-' || len(first) >= len(second)
}
