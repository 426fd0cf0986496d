package main

import (
	"errors"
	"math"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/sheet"
)

// addTraces puts into d what the captures do not hold but the recorded readings
// do: the pressures of the air tests and the harmonics of run-outs taken in one
// turn. What was keyed has no readings and stays without; so does what has a
// damaged file, which the error names.
func addTraces(d *report.Data, snap *job.Snapshot) error {
	var damaged []error
	for _, l := range d.LeakDowns {
		path, err := traceOf(snap, l.Stage, record.FeatureLeakDown, l.End)
		if path == "" {
			damaged = append(damaged, err)
			continue
		}
		curve, err := leakCurve(path, settling(snap.Sheet), l.End)
		if err != nil {
			damaged = append(damaged, err)
			continue
		}
		d.AddLeakCurve(l.Stage, curve)
	}
	for _, r := range d.Runouts {
		if len(r.Points) > 0 {
			continue
		}
		path, err := traceOf(snap, r.Stage, r.Feature, r.End)
		if path == "" {
			damaged = append(damaged, err)
			continue
		}
		samples, err := lengths(path, r.End)
		if err != nil {
			damaged = append(damaged, err)
			continue
		}
		d.AddTurn(r.Stage, r.Feature, runout.MeasureTurn(samples, runout.Options{
			Resolution: snap.Sheet.Gauge.ResolutionMM, MPE: snap.Sheet.Gauge.MPEMM,
		}))
	}
	return errors.Join(damaged...)
}

// traceOf is the readings file in which a capture of that time was made, ""
// where there is none; then the error names those that cannot be read.
func traceOf(snap *job.Snapshot, stage, feature string, at time.Time) (string, error) {
	var damaged []error
	for _, path := range snap.Readings {
		if round, _ := journal.ReadingsRound(path); round != stage+"-"+feature {
			continue
		}
		within, err := spans(path, at)
		if err != nil {
			damaged = append(damaged, err)
		} else if within {
			return path, nil
		}
	}
	return "", errors.Join(damaged...)
}

// spans says whether a readings file was being written at a time.
func spans(path string, at time.Time) (bool, error) {
	before, after := false, false
	for ev, err := range journal.ReadReadings(path) {
		if err != nil {
			return false, err
		}
		before = before || !ev.Time.After(at)
		after = after || !ev.Time.Before(at)
	}
	return before && after, nil
}

// settling is how long an air test waits after filling.
func settling(s sheet.Sheet) time.Duration {
	if s.LeakDown.SettleMin > 0 {
		return time.Duration(s.LeakDown.SettleMin * float64(time.Minute))
	}
	return 2 * time.Minute
}

// leakCurve is the pressures of a readings file in kPa, from when the line had
// settled to the end of the test, with the temperature beside the line where
// there was a thermometer.
func leakCurve(path string, settle time.Duration, end time.Time) ([]leak.Sample, error) {
	var curve []leak.Sample
	var start time.Time
	celsius := math.NaN()
	for ev, err := range journal.ReadReadings(path) {
		if err != nil {
			return nil, err
		}
		if ev.Kind != device.EventReading {
			continue
		}
		if ev.Reading.Unit == "°C" {
			celsius = ev.Reading.Value
			continue
		}
		p, err := units.Convert(ev.Reading.Value, ev.Reading.Unit, "kPa")
		if err != nil {
			continue // another gauge's
		}
		if start.IsZero() {
			start = ev.Time.Add(settle)
		}
		if t := ev.Time.Sub(start).Seconds(); t >= 0 && !ev.Time.After(end) {
			curve = append(curve, leak.Sample{T: t, P: p, TempC: celsius})
		}
	}
	return curve, nil
}

// lengths is the lengths of a readings file in mm up to end.
func lengths(path string, end time.Time) ([]analysis.Sample, error) {
	var samples []analysis.Sample
	var start time.Time
	for ev, err := range journal.ReadReadings(path) {
		if err != nil {
			return nil, err
		}
		if ev.Kind != device.EventReading || ev.Time.After(end) {
			continue
		}
		unit := ev.Reading.Unit
		if unit == "" {
			unit = "mm"
		}
		x, err := units.Convert(ev.Reading.Value, unit, "mm")
		if err != nil {
			continue // another gauge's
		}
		if start.IsZero() {
			start = ev.Time
		}
		samples = append(samples, analysis.Sample{T: ev.Time.Sub(start).Seconds(), X: x})
	}
	return samples, nil
}
