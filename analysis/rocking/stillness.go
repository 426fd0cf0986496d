package rocking

// A stillness watches for readings that do not change at all.
type stillness struct {
	now     stillRun
	longest stillRun
	jumped  stillRun // the longest that ended in a jump of nearly the whole swing
}

// A stillRun is readings in a row that were all the same.
type stillRun struct {
	from, to float64
	n        int
	x        float64
}

func (s stillRun) length() float64 { return s.to - s.from }

func (s *stillness) start(x, t float64) { s.now = stillRun{from: t, to: t, n: 1, x: x} }

// add takes the difference d of the reading x at t from the one before. A d of
// jump or more is one that no hand makes between two readings; 0 if unknown.
func (s *stillness) add(d, x, t, jump float64) {
	if d == 0 {
		s.now.n++
		s.now.to = t
		if s.now.length() > s.longest.length() {
			s.longest = s.now
		}
		return
	}
	if jump > 0 && (d >= jump || -d >= jump) && s.now.length() > s.jumped.length() {
		s.jumped = s.now
	}
	s.start(x, t)
}
