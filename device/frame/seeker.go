package frame

import (
	"slices"
	"time"
)

// Answers of a matcher besides the length of a frame.
const (
	noFrame  = -1
	needMore = 0
)

// A seeker finds binary frames in a stream that may have lost or gained
// bytes. Every byte that belongs to no frame is part of a garbled one:
//
//	.. AA 55 x x s  AA 55 x s  AA 55 x x s ..
//	   sound frame  garbled    sound frame
//
// A garbled run is handed on when a sound frame follows, or when it is as long
// as a frame: so every lost frame of a silent line counts once.
type seeker struct {
	most  int                         // longest frame
	match func(b []byte) (int, Frame) // length of the frame at b[0], noFrame or needMore; a frame without Raw is not handed on
	at    time.Time                   // of what is fed
	buf   []byte
	run   int   // bytes at the head of buf that are no frame
	frame Frame // handed on; of its own, for a local one would be made anew each time
}

// Feed implements Decoder.
func (s *seeker) Feed(at time.Time, p []byte, emit func(*Frame)) bool {
	s.at = at
	for part := range slices.Chunk(p, 4*s.most) { // bounds the memory, with few rounds for what one Read brings
		s.buf = append(s.buf, part...)
		s.scan(emit)
	}
	return false // a checked frame is never in doubt
}

func (s *seeker) scan(emit func(*Frame)) {
	at := 0 // start of the garbled run
	i := s.run
	for i < len(s.buf) {
		n, f := s.match(s.buf[i:])
		if n == needMore {
			break
		}
		if n == noFrame {
			i++
			if i-at >= s.most {
				s.bad(s.buf[at:i], emit)
				at = i
			}
			continue
		}
		s.bad(s.buf[at:i], emit)
		if s.frame, s.frame.At = f, s.at; f.Raw != nil {
			emit(&s.frame)
		}
		i += n
		at = i
	}
	s.run = i - at
	s.buf = append(s.buf[:0], s.buf[at:]...)
}

func (s *seeker) bad(b []byte, emit func(*Frame)) {
	if len(b) > 0 {
		s.frame = Frame{Raw: b, At: s.at, Binary: true, Bad: "bytes that are no sound frame"}
		emit(&s.frame)
	}
}

// Flush implements Decoder.
func (s *seeker) Flush() {}

// Reset implements Decoder.
func (s *seeker) Reset() { s.buf, s.run = s.buf[:0], 0 }

// Partial implements Decoder.
func (s *seeker) Partial() int { return len(s.buf) }
