package feature

import (
	"errors"
	"fmt"
	"math"
	"strings"

	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/runout"
	"crownlog/analysis/units"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// runout is measured by a level at each place, or by one steady turn.
func runOut(where string) Feature {
	return Feature{
		where:     where,
		positions: runoutPositions,
		gauged:    func(s Setup) Measurer { return &levels{Setup: s, placed: math.NaN(), since: math.NaN(), at: -1} },
		assess:    (*Assessment).runout,
		partial:   func(c record.Capture) bool { return c.Position > 0 },
		AsWhole:   func(s Setup) Measurer { return gathering{&turn{Setup: s, low: math.Inf(1), high: math.Inf(-1)}} },
		doubt:     doubtLevel,
	}
}

// A turn takes a steady turn as a whole.
type turn struct {
	Setup
	samples   []analysis.Sample
	low, high float64
}

func (m *turn) reset() { m.samples, m.low, m.high = m.samples[:0], math.Inf(1), math.Inf(-1) }

func (m *turn) add(_ At, in Input) []Effect {
	if x := in.Sample.X; len(m.samples) < 1e6 { // kept at most
		m.samples, m.low, m.high = append(m.samples, in.Sample), math.Min(m.low, x), math.Max(m.high, x)
	}
	return nil
}

func (m *turn) end(at At) []Effect { return captureOf(m.measured(at)) }

func (m *turn) measured(At) (record.Capture, error) {
	if len(m.samples) == 0 {
		return record.Capture{}, errors.New("no reading yet")
	}
	run := runout.MeasureTurn(m.samples, runout.Options{Resolution: m.Resolution, MPE: m.Sheet.Gauge.MPEMM})
	if run.Refused {
		return record.Capture{}, fmt.Errorf("the turn cannot be read: %s", words.Joined(run.Notes))
	}
	if run.Turns > 0 && run.Turns < 1.05 { // so that the ends overlap
		return record.Capture{}, fmt.Errorf("only %.1f turns so far: turn on steadily", run.Turns)
	}
	if len(run.Doubtful) > 0 {
		return record.Capture{}, fmt.Errorf("one turn does not tell a bump from dirt: %s", words.Joined(run.Notes))
	}
	c := newCapture(run.FIM, run.FIMU, int(math.Round(run.Turns)), record.QualityOK, runoutNote(run))
	c.Low, c.High = m.low, m.high
	return c, nil
}

func (m *turn) Progress() Progress { return plainProgress(m.high-m.low, m.high >= m.low) }

func (m *turn) Ask(At) string {
	return "Turn the wheel steadily one way, two turns in about a minute, then press space."
}

// runoutNote puts the harmonics into words.
func runoutNote(run runout.Result) string {
	var parts []string
	for i, h := range []*analysis.Harmonic{run.H1, run.H2} {
		if h != nil {
			parts = append(parts, fmt.Sprintf("%s a turn %.3f, high at %.0f°", times(i+1), h.Movement(), h.PhaseDeg))
		}
	}
	return strings.Join(append(parts, words.Notes(run.Notes)...), "; ")
}

// runout judges the full indicator movement: over the points, or as a continuous
// turn found it, whichever was measured last. What stands between places that
// were not read is not known, so only failure is proven before all are.
func (a *Assessment) runout(s sheet.Sheet, counted, all []record.Capture, places int) {
	if n := len(counted); n > 0 && counted[n-1].Position == 0 {
		turn := counted[n-1:]
		a.values(s, turn, 1)
		a.Measured = a.Needed
		a.Runout = &runout.Result{FIM: a.Value, FIMU: a.U, Turns: float64(turn[0].N), ResidualSD: math.NaN(), FIMIfReseated: math.NaN()}
		a.movement(s)
		return
	}
	a.sum(s, counted, places, sheet.OpenSpec(a.Spec.Limits.Unit), func(c record.Capture) bool { return c.Position > 0 })
	if a.Round.N >= LeastPlaces {
		var points []runout.Point
		o := a.readBy(s)
		for i, r := range a.Results {
			points = append(points, runout.Point{AngleDeg: r.Capture.AngleDeg, Value: r.Capture.Value})
			if confirmed(r.Capture, all) {
				o.Confirmed = append(o.Confirmed, i)
			}
		}
		run := runout.Measure(points, o)
		a.Runout, a.Value, a.U = &run, run.FIM, run.FIMU
		a.movement(s)
	}
	a.undecidedWhileMissing()
}

// movement judges by the full indicator movement, which is not decided while places
// stand out of the rest: nothing shows whether such a reading is a bump or a slip,
// until the place is measured once more with the same result.
func (a *Assessment) movement(s sheet.Sheet) {
	var again []int
	for _, i := range a.Runout.Doubtful {
		again = append(again, a.Results[i].Capture.Position)
	}
	d := gum.Judge(a.Value, a.U, a.Spec.Limits)
	a.Verdict = d.Verdict
	if !a.Spec.Limits.Any() {
		return
	}
	a.reason.words = strings.TrimSpace(fmt.Sprintf("full indicator movement %s %s", s.Length(a.Value), ReasonWords(d.Reason)))
	if len(again) > 0 {
		a.Verdict = gum.NotDecided
		a.reason.words += " as read; measure " + words.Places("position", again) + " again"
	}
}

// readBy is what the points of a run-out say of the gauge that read them: the
// sheet may name another one. Their uncertainty is that of half a count and of
// the permissible error.
func (a *Assessment) readBy(s sheet.Sheet) runout.Options {
	o := s.RunoutOptions()
	mpe := gum.Rectangular(o.MPE)
	for _, r := range a.Results {
		if count := r.Capture.U*r.Capture.U - mpe*mpe; count > 0 {
			o.Resolution = units.RoundTo(math.Sqrt(12*count), 1e-6)
		}
	}
	return o
}

// LeastPlaces is how many places show a movement round the wheel: two could lie
// on the same diameter of any tilt.
const LeastPlaces = 3

// confirmed reports whether the reading that c took the place of agrees with it,
// within what two readings may differ by. One that was undone is a reading too,
// but not a second one where c is the same that was only redone.
func confirmed(c record.Capture, all []record.Capture) bool {
	undone := false
	for id, last := c.Supersedes, c.ID; 0 < id && id < last && id <= len(all); id, last = all[id-1].Supersedes, id {
		switch was := all[id-1]; {
		case was.Quality == record.QualityRejected:
			undone = true
		case undone && was.Time.Equal(c.Time) && was.Value == c.Value:
			undone = false
		default:
			return math.Abs(was.Value-c.Value) <= gum.Coverage*math.Hypot(c.U, was.U)
		}
	}
	return false
}
