package device

import (
	"bytes"

	"crownlog/device/frame"
)

// A firstFrame guards the first frame after a port is opened. A gauge that
// streams is then heard from the middle of a line, and "0.123" may be the end
// of "10.123". The first line is held until the second shows whether it is
// whole, unless the line was quiet before it.
type firstFrame struct {
	begun bool // bytes have arrived
	past  bool // the first frame is whole, or over
	named bool // a line begins with its channel: 2 may be the end of 12
	held  *frame.Frame
}

// firstCut is why a first line is not believed.
const firstCut = "first line may be cut"

// hold reports whether it holds f back. A longer line after the held one makes that
// one bad, unless a sign begins it: it may have lost its head.
func (s *firstFrame) hold(f *frame.Frame) bool {
	switch {
	case s.past:
		return false
	case s.held == nil && f.Bad == "" && !s.named:
		own := *f
		own.Raw = bytes.Clone(f.Raw)
		s.held = &own
		return true
	case s.held == nil && f.Bad == "":
		f.Bad = firstCut
	case s.held != nil && len(s.held.Raw) < len(f.Raw) && s.held.Raw[0] != '+' && s.held.Raw[0] != '-':
		s.held.Bad = firstCut
	}
	s.past = true
	return false
}

// release queues the frame that is held back, if there is one.
func (v *voice) release() {
	if s := &v.first; s.held != nil {
		v.queue(s.held)
		s.held, s.past = nil, true
	}
}
