package main

import (
	"cmp"
	"errors"
	"math"
	"slices"
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
	for i, l := range d.LeakDowns {
		end := l.Results[0].Capture.Time
		events, err := recordingOf(snap, l.Stage, record.FeatureLeakDown, end)
		damaged = append(damaged, err)
		if events != nil {
			settle, _ := snap.Sheet.LeakDown.Times()
			curve := readingsIn("kPa", events, end)
			d.LeakDowns[i].Curve = slices.DeleteFunc(curve, func(q leak.Sample) bool { return q.T < settle })
		}
	}
	for _, r := range d.Runouts {
		if len(r.Points) > 0 {
			continue
		}
		events, err := recordingOf(snap, r.Stage, r.Feature, r.End)
		damaged = append(damaged, err)
		if events != nil {
			var turn []analysis.Sample
			for _, q := range readingsIn("mm", events, r.End) {
				turn = append(turn, analysis.Sample{T: q.T, X: q.P})
			}
			d.AddTurn(r.Stage, r.Feature, runout.MeasureTurn(turn, runout.Options{
				Resolution: snap.Sheet.Gauge.ResolutionMM, MPE: snap.Sheet.Gauge.MPEMM,
			}))
		}
	}
	return errors.Join(damaged...)
}

// readingsIn are the readings of a recording up to end, in seconds from the first and
// in that unit, with the temperature beside it where there was a thermometer. Those of
// gauges that measure something else are left out.
func readingsIn(unit string, events []device.Event, end time.Time) []leak.Sample {
	var samples []leak.Sample
	var start time.Time
	celsius := math.NaN()
	for _, ev := range events {
		if ev.Kind != device.EventReading || ev.Time.After(end) {
			continue
		}
		if ev.Reading.Unit == "°C" {
			celsius = ev.Reading.Value
			continue
		}
		v, err := units.Convert(ev.Reading.Value, cmp.Or(ev.Reading.Unit, unit), unit)
		if err != nil {
			continue
		}
		if start.IsZero() {
			start = ev.Time
		}
		samples = append(samples, leak.Sample{T: ev.Time.Sub(start).Seconds(), P: v, TempC: celsius})
	}
	return samples
}
