package report

import (
	"crownlog/analysis"
	"crownlog/logger"
)

func newResults(d Data) results {
	v := d.Sheet.Vehicle
	return results{
		Format: resultsFormat, Made: moment(d.Made), Invented: d.Sheet.Invented,
		Vehicle: resultVehicle{v.Label, v.Job, v.Axle, v.Odometer, v.Operator},
		Verdict: verdictWords(d.Verdict), Headline: d.Headline,
		Summary: each(d.Judged, newResultLine), Backlash: each(d.Backlash, newResultRound),
		Runout: each(d.Runouts, newResultRunout), Bolts: each(d.Bolts, newResultCircle),
		Moves: each(d.Moves, newResultMove), Changes: each(d.Changes, newResultChange),
		Patterns: each(d.Patterns, newResultPattern), LeakDown: each(d.LeakDowns, newResultLeak),
		Holds: each(d.Holds, newResultHold), Remarks: each(d.Remarks, newResultRemark),
		Rejected: each(d.Rejected, newResultRemark), Findings: each(d.Findings, newResultFinding),
		Gauges: each(d.Gauges, same),
	}
}

func newResultLine(j Judged) resultLine {
	return resultLine{
		Feature: j.Feature, Stage: j.Stage, Value: number(j.Value), Expanded: number(j.U), Unit: j.Format.Unit,
		Text: j.Text, Window: newWindow(j.Limits), Verdict: verdictWords(j.Verdict), Reason: j.Reason, Conclusion: j.Conclusion,
	}
}

func newResultRound(r Round) resultRound {
	out := resultRound{
		Stage: r.Stage, Unit: r.Format.Unit, N: r.Round.N, Mean: number(r.Round.Mean), StdDev: number(r.Round.StdDev),
		Spread: number(r.Round.Spread), Tightest: r.Round.Tightest.Position, Loosest: r.Round.Loosest.Position,
		Outside: each(r.Round.Outside, same), Missing: each(r.Round.Missing, same), H1: newHarmonic(&r.Round.H1),
		ResidualSD: number(r.Round.ResidualSD), Window: newWindow(r.Spec.Limits), MaxSpread: number(r.Spec.MaxSpread),
		Floor: number(r.Spec.Floor), Rule: r.Spec.Rule, Verdict: verdictWords(r.Round.Verdict), Reason: r.Round.Reason,
		Positions: each(r.Points, func(p Point) resultPoint {
			return resultPoint{
				Position: p.Position, AngleDeg: number(p.AngleDeg), Value: number(p.Value), Expanded: number(p.U), Rocks: p.Rocks,
				Repeatability: number(p.Repeatability), Verdict: verdictWords(p.Verdict), Quality: p.Quality,
			}
		}),
	}
	if r.Round.H2Known {
		out.H2 = newHarmonic(&r.Round.H2)
	}
	return out
}

func newResultRunout(r Runout) resultRunout {
	return resultRunout{
		Feature: r.Feature, Stage: r.Stage, Unit: r.Format.Unit, FIM: number(r.Runout.FIM), Expanded: number(coverage * r.Runout.FIMU),
		H1: newHarmonic(r.Runout.H1), H2: newHarmonic(r.Runout.H2), ResidualSD: number(r.Runout.ResidualSD),
		FIMIfReseated: number(r.Runout.FIMIfReseated), Window: newWindow(r.Limits), Verdict: verdictWords(r.Verdict),
		Points: each(r.Points, func(p RunoutPoint) resultPlace { return resultPlace{number(p.AngleDeg), number(p.Value)} }),
	}
}

func newResultCircle(c BoltCircle) resultCircle {
	return resultCircle{
		Feature: c.Feature, Stage: c.Stage, Unit: c.Format.Unit, Target: number(c.Target),
		Window: resultWindow{number(c.Lower), number(c.Upper)}, Verdict: verdictWords(c.Verdict),
		Bolts: each(c.Bolts, func(b Bolt) resultBolt {
			return resultBolt{b.Number, number(b.Torque), number(b.U), b.Pulls, verdictWords(b.Verdict), b.Quality}
		}),
	}
}

func newResultMove(m Move) resultMove {
	return resultMove{moment(m.Time), m.Stage, number(m.Amount), m.Unit, number(m.Net), number(m.Before), number(m.After), number(m.Expected), number(m.ExpectedU), m.Note}
}

func newResultChange(c StageChange) resultChange {
	return resultChange{
		From: c.From, To: c.To, Unit: c.Format.Unit, Mean: number(c.Change.Mean), Expanded: number(c.U),
		Significant: c.Change.Significant, Sentence: c.Sentence, Unpaired: each(c.Change.Unpaired, same),
		Positions: each(c.Change.Positions, func(p analysis.PositionChange) resultPositionChange {
			return resultPositionChange{p.Position, number(p.From), number(p.To), number(p.Change), number(coverage * p.U), p.Significant}
		}),
	}
}

func newResultPattern(p Pattern) resultPattern {
	contact := func(c *analysis.Contact) *resultContact {
		if c == nil {
			return nil
		}
		return &resultContact{number(c.Along), number(c.Up)}
	}
	return resultPattern{p.Stage, contact(p.Drive), contact(p.Coast), p.Advice.Text}
}

func newResultLeak(l LeakDown) resultLeak {
	return resultLeak{l.Stage, number(l.Rate), number(l.U), newWindow(l.Limits), verdictWords(l.Verdict), l.Note}
}

func newResultHold(h logger.HoldPoint) resultHold {
	return resultHold{h.Name, h.Before, h.Reason, h.Blocking, h.Overridden}
}

func newResultRemark(r Remark) resultRemark {
	return resultRemark{moment(r.Time), r.Stage, r.Kind, r.Text}
}

func newResultFinding(f logger.Finding) resultFinding {
	return resultFinding{string(f.Severity), f.Where, f.Text}
}
