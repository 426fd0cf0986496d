package logger

import (
	"strings"

	"crownlog/logger/job"
	"crownlog/logger/record"
)

// Hold makes the round wait for the hold points before it: nothing is captured
// until they are cleared, which is found out here, or passed by an override.
// Where the round has a reason to override they are passed now, which is
// recorded first; the error says that it could not be.
func (r *Round) Hold() error {
	j := job.Job{Sheet: r.cfg.Sheet, Captures: r.cfg.Store.Captures()}
	r.held = j.Step(r.cfg.Stage, r.cfg.Feature, job.HoldPoints(j.Sheet, j.Captures)).Hold
	if r.cfg.Override == "" {
		return nil
	}
	return r.passHolds(r.cfg.Override)
}

// Held lists the hold points that this round waits for.
func (r *Round) Held() []job.HoldPoint { return r.held }

// passHolds records that the hold points are passed, and why.
func (r *Round) passHolds(reason string) error {
	for len(r.held) > 0 {
		if _, err := record.AddOverride(r.cfg.Store, r.cfg.Stage, r.held[0].Name, reason, r.time()); err != nil {
			return err
		}
		r.held = r.held[1:]
	}
	return nil
}

// holdText says why the round waits.
func (r *Round) holdText() string {
	var reasons []string
	for _, h := range r.held {
		reasons = append(reasons, h.Reason)
	}
	return strings.Join(reasons, " ")
}
