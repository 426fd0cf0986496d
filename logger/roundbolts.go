package logger

import (
	"errors"
	"fmt"
	"math"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/torque"
	"crownlog/device"
	"crownlog/device/frame"
)

// shortPull is the share of the tolerance's lower end below which a pull is
// taken for a ratchet stroke or a let-go, not for the bolt's torque.
const shortPull = 0.97

// A boltMeasure takes one pull of the wrench as one capture and goes on to the
// next bolt of the sequence on release.
type boltMeasure struct {
	r      *Round
	torque *torque.Meter
	last   torque.Pull
	had    bool
}

func newBoltMeasure(r *Round) *boltMeasure {
	m := &boltMeasure{r: r}
	m.reset()
	return m
}

func (m *boltMeasure) reset() {
	m.torque = torque.New(torque.Options{Target: m.r.visits[m.r.current].target})
	m.had = false
}

func (m *boltMeasure) add(s analysis.Sample, rd device.Reading) error {
	if rd.Flags&frame.FlagPress != 0 { // a wrench that sends its peak alone
		return m.pulled(torque.Pull{Value: s.X, Time: s.T})
	}
	pull, ended := m.torque.Add(s)
	if !ended {
		return nil
	}
	return m.pulled(pull)
}

// pulled takes a pull that is over.
func (m *boltMeasure) pulled(pull torque.Pull) error {
	r := m.r
	if r.done {
		r.restrikeDone()
		return nil
	}
	m.last, m.had = pull, true
	v := r.visits[r.current]
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	if pull.Value < v.target*(1-b.Tolerance())*shortPull {
		r.raise("", fmt.Sprintf("Short: %s of %s. Pull bolt %d again.", r.amount(pull.Value), r.amount(v.target), v.position+1))
		return nil
	}
	if r.restrikeBlocked() {
		return nil
	}
	c, err := m.accept()
	if err != nil {
		return nil
	}
	if err := r.capture(c); err != nil {
		return err
	}
	m.after(pull, v)
	return nil
}

// after goes on, and says what was wrong with the pull.
func (m *boltMeasure) after(pull torque.Pull, v visit) {
	r := m.r
	if !r.done {
		r.advance()
	}
	if !r.sayOverTorque(v, pull.Value) && pull.DoubleStrike {
		r.raise("", fmt.Sprintf("Bolt %d was clicked twice: the second click over-torques it.", v.position+1))
	}
}

// sayOverTorque rings for a bolt that was pulled beyond its tolerance, as the
// wrench reads it.
func (r *Round) sayOverTorque(v visit, torque float64) bool {
	b, ok := r.cfg.Sheet.BoltList(r.cfg.Feature)
	if !ok || torque <= v.target*(1+b.Tolerance()) {
		return false
	}
	r.raise("", fmt.Sprintf("Bolt %d went to %s, over its %s: see whether it must be replaced.", v.position+1, r.amount(torque), r.amount(v.target)))
	return true
}

func (m *boltMeasure) accept() (Capture, error) {
	if !m.had {
		return Capture{}, errors.New("no pull yet")
	}
	nan := math.NaN()
	r := m.r
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	value := m.last.Value
	if b.AdapterLength > 0 {
		value = torque.AdapterTorque(value, b.WrenchLength, b.AdapterLength, b.AdapterAngle)
	}
	c := Capture{
		Time:  r.start.Add(time.Duration(m.last.Time * float64(time.Second))),
		Value: value, U: b.pullUncertainty(value, r.resolution), N: 1, Low: nan, High: nan, Repeatability: nan, RadiusMM: nan,
		Quality: QualityOK, Pass: r.passNote(),
	}
	if m.last.DoubleStrike {
		c.Quality = qualityDouble
	}
	return c, nil
}

// qualityDouble marks a bolt clicked twice in one pull.
const qualityDouble = "double-strike"

func (m *boltMeasure) fill(v *View) {
	v.Needed = 1
	if peak, on := m.torque.Pulling(); on {
		v.Estimate = peak
	}
}

// passNote is the pass a pull belongs to; of another feature none.
func (r *Round) passNote() Pass {
	if r.feat.kind != kindBolts {
		return Pass{}
	}
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	passes := b.Passes()
	pass := r.visits[r.current].pass
	return Pass{N: pass, Of: len(passes), Percent: int(math.Round(passes[pass-1] * 100))}
}

// finalPull reports whether a pull is of the last pass.
func finalPull(c Capture) bool { return c.Pass.Final() }

// restrikeBlocked refuses to torque a bolt again whose locker has set: it
// breaks the bond and proves nothing. A bolt still waiting for its pass is
// let through, with a word if the locker is late.
func (r *Round) restrikeBlocked() bool {
	if r.feat.kind != kindBolts || r.overridden {
		return false
	}
	since, ok := r.lockerOpen()
	if !ok {
		return false
	}
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	if since < time.Duration(b.openMinutes()*float64(time.Minute)) || r.older[r.current] == 0 || !r.isFinal(r.current) {
		return false
	}
	if r.cfg.Override != "" {
		r.blocked = "re-strike"
		if err := r.override(r.cfg.Override); err == nil {
			return false
		}
	}
	r.blocked = "re-strike"
	r.raise("", fmt.Sprintf("Blocked: the thread-locker's %.0f minutes are over. Torquing this bolt again breaks the bond and proves nothing. Override with a reason if you must.", b.openMinutes()))
	return true
}

// restrikeDone answers a pull after the round is done.
func (r *Round) restrikeDone() {
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	text := "All bolts are stored: this pull is not. Undo one to torque it again."
	if b.ThreadLocker {
		text = "All bolts are stored: this pull is not. Never re-strike a bolt once the locker has set."
	}
	r.raise("", text)
}

// lockerOpen is how long ago the first bolt of a list with thread-locker was
// pulled; false when there is no locker or nothing pulled.
func (r *Round) lockerOpen() (time.Duration, bool) {
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	if !b.ThreadLocker {
		return 0, false
	}
	for _, c := range r.cfg.Store.Captures() {
		if c.Stage == r.cfg.Stage && c.Feature == r.cfg.Feature {
			return r.time().Sub(c.Time), true
		}
	}
	return 0, false
}

// isFinal reports whether a visit is of the last pass.
func (r *Round) isFinal(k int) bool { return k >= len(r.visits)-len(r.positions) }

func (r *Round) boltAction(p Position) string {
	v := r.visits[r.current]
	b, _ := r.cfg.Sheet.BoltList(r.cfg.Feature)
	passes := b.Passes()
	text := fmt.Sprintf("Pull bolt %d to %s (pass %d of %d).", p.Index, r.inManual(v.target), v.pass, len(passes))
	if b.LeftHand {
		text += " LEFT-HAND thread."
	}
	return text
}
