package logger

import (
	"math"
	"slices"

	"crownlog/analysis"
)

// refresh works out the round's statistics after a change.
func (r *Round) refresh() {
	if r.feat.name == FeatureEngagement {
		made := slices.DeleteFunc(slices.Clone(r.slots), func(c Capture) bool { return c.ID == 0 })
		r.round = judgeTries(made, len(r.positions), r.spec)
		return
	}
	var points []analysis.RoundPoint
	final := len(r.visits) - len(r.positions)
	for k, c := range r.slots {
		if c.ID == 0 || (r.feat.kind == kindBolts && k < final) {
			continue
		}
		points = append(points, analysis.RoundPoint{
			Position: r.visits[k].Place + 1, AngleDeg: c.AngleDeg, Value: c.Value, U: c.U,
		})
	}
	r.round = judgePoints(points, len(r.positions), r.spec, r.cfg.Sheet.windowFactors(r.cfg.Feature), r.feat.kind == kindRunout && !r.cfg.Continuous, analysis.RunoutOptions{Resolution: r.setup.Resolution, MPE: r.cfg.Sheet.Gauge.MPEMM})
	r.round.Reason = placeWords(r.feat.kind, r.round.Reason)
	if r.feat.kind == kindPattern {
		r.round.Verdict = contactVerdict(r.cfg.Sheet, r.cfg.Store.Captures(), r.cfg.Stage)
	}
}

// positionViews shows each position with its latest capture. A pull of an
// early pass is not judged.
func (r *Round) positionViews() []PositionView {
	views := make([]PositionView, len(r.positions))
	for i, p := range r.positions {
		views[i] = PositionView{Position: p, Value: math.NaN(), U: math.NaN()}
	}
	final := len(r.visits) - len(r.positions)
	for k, c := range r.slots {
		if c.ID == 0 {
			continue
		}
		pv := &views[r.visits[k].Place]
		pv.Value, pv.U, pv.Rocks, pv.Verdict = c.Value, c.U, c.N, analysis.NotDecided
		if k >= final && !(r.feat.kind == kindRunout && !r.cfg.Continuous) {
			pv.Verdict = r.cfg.Sheet.Judge(r.cfg.Feature, c.Value, c.U).Verdict
		}
		if r.feat.name == FeatureEngagement {
			pv.Word = "yes"
			if TryFailed(c) {
				pv.Word, pv.Verdict = "no", analysis.Outside
			}
		}
	}
	if !r.done {
		views[r.visits[r.current].Place].Current = true
	}
	return views
}
