package report

import (
	"crownlog/analysis"
	"crownlog/analysis/gum"
	"crownlog/analysis/setup"
	"crownlog/logger/job"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

func newResults(d Data) results {
	v := d.Sheet.Vehicle
	return results{
		Format: resultsFormat, Made: moment(d.Made), Invented: d.Sheet.Invented,
		Vehicle: resultVehicle{v.Label, v.Job, v.Axle, v.Odometer, v.Operator},
		Verdict: d.Verdict.String(), Headline: d.Headline,
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
		Feature: j.Feature, Stage: j.Stage, Value: Number(j.Value), Expanded: Number(j.U), Unit: j.Format.Unit,
		Text: j.Text, Window: newWindow(j.Limits), Default: j.Default, Verdict: j.Verdict.String(), Reason: j.Reason, Conclusion: j.Conclusion,
	}
}

func newResultRound(r Round) resultRound {
	out := resultRound{
		Stage: r.Stage, Unit: r.Format.Unit, N: r.Round.N, Mean: Number(r.Round.Mean), StdDev: Number(r.Round.StdDev),
		Spread: Number(r.Round.Spread), Tightest: r.Round.Tightest.Position, Loosest: r.Round.Loosest.Position,
		Outside: each(r.Round.Outside, same), Missing: each(r.Round.Missing, same), H1: newHarmonic(&r.Round.H1),
		ResidualSD: Number(r.Round.ResidualSD), Window: newWindow(r.Spec.Limits), MaxSpread: Number(r.Spec.MaxSpread),
		Floor: Number(r.Spec.Floor), Rule: r.Spec.Rule, Verdict: r.Verdict.String(), Reason: r.Reason,
		Positions: each(r.Points, func(p Point) resultPoint {
			return resultPoint{
				Position: p.Position, AngleDeg: Number(p.AngleDeg), Value: Number(p.Value), Expanded: Number(p.U), Rocks: p.Rocks,
				Repeatability: Number(p.Repeatability), Verdict: p.Verdict.String(), Quality: p.Quality,
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
		Feature: r.Feature, Stage: r.Stage, Unit: r.Format.Unit, FIM: Number(r.Runout.FIM), Expanded: Number(gum.Coverage * r.Runout.FIMU),
		H1: newHarmonic(r.Runout.H1), H2: newHarmonic(r.Runout.H2), ResidualSD: Number(r.Runout.ResidualSD),
		FIMIfReseated: Number(r.Runout.FIMIfReseated), Window: newWindow(r.Limits), Verdict: r.Verdict.String(),
		Points: each(r.Points, func(p RunoutPoint) resultPlace { return resultPlace{Number(p.AngleDeg), Number(p.Value)} }),
	}
}

func newResultCircle(c BoltCircle) resultCircle {
	return resultCircle{
		Feature: c.Feature, Stage: c.Stage, Unit: c.Format.Unit, Target: Number(c.Target),
		Window: resultWindow{Number(c.Lower), Number(c.Upper)}, Verdict: c.Verdict.String(),
		Bolts: each(c.Bolts, func(b Bolt) resultBolt {
			return resultBolt{b.Number, Number(b.Torque), Number(b.U), b.Pulls, b.Verdict.String(), b.Quality}
		}),
	}
}

func newResultMove(m Move) resultMove {
	return resultMove{moment(m.Time), m.Stage, Number(m.Amount), m.Unit, Number(m.Net), Number(m.Before), Number(m.After), Number(m.Expected), Number(m.ExpectedU), m.Note}
}

func newResultChange(c StageChange) resultChange {
	return resultChange{
		From: c.From, To: c.To, Unit: c.Format.Unit, Mean: Number(c.Change.Mean), Expanded: Number(c.U),
		Significant: c.Change.Significant, Sentence: c.Sentence, Unpaired: each(c.Change.Unpaired, same),
		Positions: each(c.Change.Positions, func(p analysis.PositionChange) resultPositionChange {
			return resultPositionChange{p.Position, Number(p.From), Number(p.To), Number(p.Change), Number(gum.Coverage * p.U), p.Significant}
		}),
	}
}

func newResultPattern(p Pattern) resultPattern {
	contact := func(c *setup.Contact) *resultContact {
		if c == nil {
			return nil
		}
		return &resultContact{Number(c.Along), Number(c.Up)}
	}
	return resultPattern{p.Stage, contact(p.Drive), contact(p.Coast), words.Contact(p.Advice)}
}

func newResultLeak(l LeakDown) resultLeak {
	return resultLeak{l.Stage, Number(l.Rate), Number(l.U), newWindow(l.Limits), l.Verdict.String(), l.Note}
}

func newResultHold(h job.HoldPoint) resultHold {
	return resultHold{h.Name, h.Before, h.Reason, h.Blocking, h.Overridden}
}

func newResultRemark(r Remark) resultRemark {
	return resultRemark{moment(r.Time), r.Stage, r.Kind, r.Text}
}

func newResultFinding(f sheet.Finding) resultFinding {
	return resultFinding{string(f.Severity), f.Where, f.Text}
}
