package feature

import (
	"fmt"
	"math"
	"slices"
	"time"

	"crownlog/analysis/torque"
	"crownlog/analysis/units"
	"crownlog/device/frame"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// shortPull is the share of the tolerance's lower end below which a pull is
// taken for a ratchet stroke or a let-go, not for the bolt's torque.
const shortPull = 0.97

// qualityDouble marks a bolt clicked twice in one pull.
const qualityDouble = "double-strike"

// bolts are pulled in a sequence, pass by pass.
func bolts() Feature {
	return Feature{
		positions:   boltPositions,
		visits:      pullsInOrder,
		place:       "bolt",
		assess:      (*Assessment).bolts,
		partial:     func(c record.Capture) bool { return !c.Pass.Final() },
		gauged:      func(s Setup) Measurer { return &pulls{Setup: s, torque: torque.New(torque.Options{})} },
		example:     "a torque such as 95, 70 lbf ft or 9.7 kgf m",
		Check:       notNegative,
		doubt:       doubtTorque,
		uncertainty: func(s Setup, v float64) float64 { return s.boltList().PullUncertainty(v, s.Resolution) },
		store:       func(s Setup, at At, c record.Capture) []Effect { return s.storeBolt(at, c, overTorque(s, at, c.Value)) },
		ask:         askPull,
	}
}

// pullsInOrder lists the pulls of the bolts of a feature.
func pullsInOrder(s sheet.Sheet, name string, positions []record.Position) []Visit {
	b, _ := s.BoltList(name)
	passes := b.Passes()
	var visits []Visit
	round := func(v Visit) {
		for _, bolt := range b.Order() {
			v.Position, v.Place, v.Passes, v.Final = positions[bolt-1], bolt-1, len(passes), v.Pass == len(passes)
			visits = append(visits, v)
		}
	}
	for i, share := range passes {
		round(Visit{Pass: i + 1, Target: b.Setting(b.TargetNm() * share)})
	}
	if b.AngleDeg > 0 {
		round(Visit{Pass: len(passes), Turn: b.AngleDeg})
	}
	return visits
}

// boltList is the sheet's list for the round.
func (s Setup) boltList() sheet.BoltList {
	b, _ := s.Sheet.BoltList(s.Of.Name)
	return b
}

// pulls take one pull of the wrench as one capture and go on to the next bolt
// of the sequence on release.
type pulls struct {
	Setup
	torque *torque.Meter
	last   torque.Pull
	had    bool
}

func (m *pulls) Step(at At, in Input) []Effect {
	switch in.Kind {
	case Reading:
		if at.Turn > 0 { // what the wrench shows on the way is no torque to go by
			return nil
		}
		if in.Flags&frame.FlagPress != 0 { // a wrench that sends its peak alone
			return m.pulled(at, torque.Pull{Value: in.Sample.X, Time: in.Sample.T})
		}
		if pull, ended := m.torque.Add(in.Sample); ended {
			return m.pulled(at, pull)
		}
	case Broken:
		m.torque.Lost()
	case Accept:
		if !m.had {
			return one(Warn("No pull yet."))
		}
		return m.storeBolt(at, m.capture(at), nil)
	case Enter, Reset:
		m.torque = torque.New(torque.Options{Target: at.Target})
		m.had = false
	}
	return nil
}

// pulled takes a pull that is over.
func (m *pulls) pulled(at At, pull torque.Pull) []Effect {
	b := m.boltList()
	if at.Done {
		text := "All bolts are stored: this pull is not. Undo one to torque it again."
		if b.ThreadLocker {
			text = "All bolts are stored: this pull is not. Never re-strike a bolt once the locker has set."
		}
		return one(Fault{Text: text})
	}
	if pull.TopLost {
		return one(Fault{Text: fmt.Sprintf("A reading at the top of this pull came broken: bolt %d is not stored. Press enter if the wrench clicked, or type what it shows.", at.Position.Index)})
	}
	m.last, m.had = pull, true
	if pull.Value < at.Target*(1-b.Tolerance())*shortPull {
		return one(Fault{Text: fmt.Sprintf("Short: %s of %s. Pull bolt %d again.",
			m.InManual(pull.Value, at.Decimals), m.InManual(at.Target, at.Decimals), at.Position.Index)})
	}
	said := overTorque(m.Setup, at, pull.Value)
	if said == nil && pull.DoubleStrike {
		said = one(Fault{Text: fmt.Sprintf("Bolt %d was clicked twice: the second click over-torques it.", at.Position.Index)})
	}
	return m.storeBolt(at, m.capture(at), said)
}

// storeBolt stores what was done to a bolt, says what is to be said of it, and goes
// on, unless the bolt must not be touched any more.
func (s Setup) storeBolt(at At, c record.Capture, said []Effect) []Effect {
	effects := restrikeBlock(s, at)
	if effects != nil && s.Override == "" {
		return effects
	}
	c.Pass.N, c.Pass.Of, c.Pass.Percent = at.Pass, at.Passes, int(math.Round(s.boltList().Passes()[at.Pass-1]*100))
	return slices.Concat(effects, []Effect{Captured(c), Advance{}}, said)
}

// capture is that of the pull seen last.
func (m *pulls) capture(at At) record.Capture {
	b, value := m.boltList(), m.last.Value
	if b.AdapterLength > 0 {
		value = torque.AdapterTorque(value, b.WrenchLength, b.AdapterLength, b.AdapterAngle)
	}
	c := newCapture(value, b.PullUncertainty(value, m.Resolution), 1, record.QualityOK, "")
	c.Time = at.Start.Add(time.Duration(m.last.Time * float64(time.Second)))
	if m.last.DoubleStrike {
		c.Quality = qualityDouble
	}
	return c
}

func (m *pulls) Progress() Progress { return plainProgress(m.torque.Pulling()) }

func (m *pulls) Ask(at At) string { return askPull(m.Setup, at) }

func askPull(s Setup, at At) string {
	text := fmt.Sprintf("Turn bolt %d on by %g° and press enter, or type the degrees.", at.Position.Index, at.Turn)
	if at.Turn == 0 {
		text = fmt.Sprintf("Pull bolt %d to %s (pass %d of %d).", at.Position.Index, s.InManual(at.Target, at.Decimals), at.Pass, at.Passes)
	}
	if s.boltList().LeftHand {
		text += " LEFT-HAND thread."
	}
	return text
}

// angleOff is by how many degrees a bolt may be turned otherwise than the sheet
// says before that is said: what the eye tells on a socket. Common practice, no
// source.
const angleOff = 10

// turned takes that a bolt was turned on by so many degrees. Nothing is known of
// its torque then.
func (s Setup) turned(at At, degrees float64, in Input) []Effect {
	if in.Unit != "" || !(degrees > 0 && degrees <= 360) {
		return one(Warn("Type by how many degrees the bolt was turned on, without a unit, or press enter."))
	}
	c := newCapture(math.NaN(), math.NaN(), 1, record.QualityClick, "turned on, nothing read")
	c.Time, c.Gauge, c.Pass.Degrees = in.Time, in.Gauge, degrees
	var said []Effect
	if math.Abs(degrees-at.Turn) > angleOff {
		said = one(Fault{Text: fmt.Sprintf("Bolt %d was turned on by %g°, and job.toml says %g°: see what the manual says.", at.Position.Index, degrees, at.Turn)})
	}
	return s.storeBolt(at, c, said)
}

// clicked takes the torque that a wrench was set to for that of a bolt at which it
// clicked. Its quality says that nothing was read.
func (s Setup) clicked(at At, in Input) []Effect {
	switch {
	case at.Turn > 0:
		return s.turned(at, at.Turn, in)
	case !(at.Target > 0):
		return one(Warn("Only a bolt is clicked."))
	}
	b := s.boltList()
	value := b.TargetNm() * b.Passes()[at.Pass-1] // at the bolt, whatever adapter is on the wrench
	c := newCapture(value, s.uncertainty(at.Target), 1, record.QualityClick, "clicked at its setting, nothing read")
	c.Time, c.Gauge = in.Time, in.Gauge
	return s.storeBolt(at, c, nil)
}

// overTorque rings for a bolt that was pulled beyond its tolerance, as the
// wrench reads it.
func overTorque(s Setup, at At, torque float64) []Effect {
	if torque <= at.Target*(1+s.boltList().Tolerance()) {
		return nil
	}
	return one(Fault{Text: fmt.Sprintf("Bolt %d went to %s, over its %s: see whether it must be replaced.",
		at.Position.Index, s.InManual(torque, at.Decimals), s.InManual(at.Target, at.Decimals))})
}

func doubtTorque(s Setup, at At, v float64) string {
	if !(at.Target > 0) || v <= absurdTorque*at.Target {
		return ""
	}
	return fmt.Sprintf("%.3g times the target of %s", v/at.Target, s.plainAmount(units.RoundTo(at.Target, 0.1)))
}

// restrikeBlock refuses to torque a bolt again whose locker has set: it breaks
// the bond and proves nothing. The locker is as old as the first pull since the
// wheel was fitted up. A bolt still waiting for its pass is let through.
func restrikeBlock(s Setup, at At) []Effect {
	b := s.boltList()
	if !b.ThreadLocker || at.Overridden || at.First.IsZero() || at.Supersedes == 0 || !at.Final ||
		at.Now.Sub(at.First) < time.Duration(b.OpenMinutes()*float64(time.Minute)) {
		return nil
	}
	text := fmt.Sprintf("Blocked: the thread-locker's %.0f minutes are over. Torquing this bolt again breaks the bond and proves nothing. Override with a reason if you must.", b.OpenMinutes())
	if slices.Contains(s.Sheet.StageList(), record.StageFitUp) {
		text += " If the wheel came off, fit it up dry and measure its back face first: new bolts and locker begin with that."
	}
	return one(Block{Name: "re-strike " + s.Of.Name, Text: text})
}

// bolts judges the last pulls; a bolt that lacks a pass is missing.
func (a *Assessment) bolts(s sheet.Sheet, counted, _ []record.Capture, bolts int) {
	a.sum(s, counted, bolts, a.Spec, func(c record.Capture) bool { return c.Pass.Final() })
	pulls := make(map[int]int)
	for _, c := range counted {
		pulls[c.Position]++
	}
	passes := max(1, a.Needed/max(1, bolts))
	a.Measured, a.Missing = 0, nil
	for bolt := 1; bolt <= bolts; bolt++ {
		a.Measured += min(pulls[bolt], passes)
		if pulls[bolt] < passes || slices.Contains(a.Round.Missing, bolt) {
			a.Missing = append(a.Missing, bolt)
		}
	}
	a.undecidedWhileMissing()
	for _, r := range a.Results {
		if !(a.U > r.Capture.U) {
			a.U = r.Capture.U
		}
	}
}
