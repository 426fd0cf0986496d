package rocking

// A stillRun is readings in a row that were all the same.
type stillRun struct {
	from, to float64
	n        int
	x        float64
}

func (s stillRun) length() float64 { return s.to - s.from }

// A stillness watches for readings that do not change at all.
type stillness struct {
	now     stillRun
	longest stillRun
	jumped  stillRun // the longest that ended in a jump of half the swing, which no hand makes
}

func (s *stillness) start(t, x float64) { s.now = stillRun{from: t, to: t, n: 1, x: x} }

// add takes the reading x at t, which is the same as the one before or else jumped.
func (s *stillness) add(same, jumped bool, t, x float64) {
	if same {
		s.now.n++
		s.now.to = t
		if s.now.length() > s.longest.length() {
			s.longest = s.now
		}
		return
	}
	if jumped && s.now.length() > s.jumped.length() {
		s.jumped = s.now
	}
	s.start(t, x)
}
