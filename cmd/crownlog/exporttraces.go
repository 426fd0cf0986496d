package main

import (
	"cmp"
	"errors"
	"math"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/record"
	"crownlog/logger/report"
)

// addTraces puts into d what the captures do not hold but the recorded readings
// do: the pressures of the air tests and the harmonics of run-outs taken in one
// turn. What was keyed has no readings and stays without; so does what has a
// damaged file, which the error names.
func addTraces(d *report.Data, snap *job.Snapshot) error {
	var damaged []error
	for _, l := range d.LeakDowns {
		events, err := recordingOf(snap, l.Stage, record.FeatureLeakDown, l.End)
		damaged = append(damaged, err)
		if events != nil {
			settle, _ := snap.Sheet.LeakDown.Times()
			d.AddLeakCurve(l.Stage, leakCurve(events, settle, l.End))
		}
	}
	for _, r := range d.Runouts {
		if len(r.Points) > 0 {
			continue
		}
		events, err := recordingOf(snap, r.Stage, r.Feature, r.End)
		damaged = append(damaged, err)
		if events != nil {
			d.AddTurn(r.Stage, r.Feature, runout.MeasureTurn(lengths(events, r.End), runout.Options{
				Resolution: snap.Sheet.Gauge.ResolutionMM, MPE: snap.Sheet.Gauge.MPEMM,
			}))
		}
	}
	return errors.Join(damaged...)
}

// leakCurve is the pressures of a recording in kPa, from when the line had
// settled for so many seconds to the end of the test, with the temperature beside the line where
// there was a thermometer.
func leakCurve(events []device.Event, settle float64, end time.Time) []leak.Sample {
	var curve []leak.Sample
	var start time.Time
	celsius := math.NaN()
	for _, ev := range events {
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
			start = ev.Time
		}
		if t := ev.Time.Sub(start).Seconds() - settle; t >= 0 && !ev.Time.After(end) {
			curve = append(curve, leak.Sample{T: t, P: p, TempC: celsius})
		}
	}
	return curve
}

// lengths is the lengths of a recording in mm up to end.
func lengths(events []device.Event, end time.Time) []analysis.Sample {
	var samples []analysis.Sample
	for _, ev := range events {
		if ev.Kind != device.EventReading || ev.Time.After(end) {
			continue
		}
		x, err := units.Convert(ev.Reading.Value, cmp.Or(ev.Reading.Unit, "mm"), "mm")
		if err != nil {
			continue // another gauge's
		}
		samples = append(samples, analysis.Sample{T: ev.Time.Sub(events[0].Time).Seconds(), X: x})
	}
	return samples
}
