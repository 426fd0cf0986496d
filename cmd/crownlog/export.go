package main

import (
	"bufio"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownlog/analysis"
	"crownlog/analysis/leak"
	"crownlog/analysis/runout"
	"crownlog/analysis/units"
	"crownlog/device"
	"crownlog/logger/export"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/verify"
)

type exportCmd struct {
	Job  string `arg:"" help:"Job folder."`
	CSV  bool   `name:"csv" help:"Write record.csv, for the vehicle's file and spreadsheets."`
	HTML bool   `name:"html" help:"Write report.html, to look at and print."`
	PDF  bool   `name:"pdf" help:"Write report.pdf."`
	JSON bool   `name:"json" help:"Print the results as JSON."`

	Bundle bool   `help:"Write all of them and pack the job into JOB.zip, to hand it over: crownlog verify reads it."`
	Sign   string `help:"Sign the digest of the record with ssh-keygen and this key: a private one, or the .pub of one that an agent holds." placeholder:"KEY"`
}

// Run writes the derived files of a job into its folder, all three where none
// is named, and prints their paths. It reads without locking, so a job can be
// exported while it is being measured.
func (c *exportCmd) Run(con *console) error {
	snap, err := job.Read(c.Job)
	if err != nil {
		return err
	}
	if c.Bundle || !c.CSV && !c.HTML && !c.PDF && !c.JSON && c.Sign == "" {
		c.CSV, c.HTML, c.PDF = true, true, true
	}
	sayTorn(con, snap)
	if c.Sign != "" {
		if err := c.sign(con, snap); err != nil {
			return err
		}
	}
	d := report.Build(snap.Sheet, snap.Captures, time.Now().Truncate(time.Second))
	d.Record = report.RecordID{Digest: snap.Digest, Program: "crownlog " + programVersion()}
	attached, changed := journal.CheckAttachments(snap.Dir, snap.Captures)
	d.AddAttachments(attached)
	addPhotos(&d, snap)
	failed := errors.Join(addTraces(&d, snap), changed) // the captures stand without them
	whole, _ := filepath.Abs(snap.Dir)                  // the folder may be called "."
	files := []struct {
		wanted bool
		path   string
		write  func(io.Writer) error
	}{
		{c.CSV, snap.Dir + "/record.csv", func(w io.Writer) error { return export.WriteRecordCSV(w, snap.Sheet, snap.Captures) }},
		{c.HTML, snap.Dir + "/report.html", func(w io.Writer) error { return writePage(w, d) }},
		{c.PDF, snap.Dir + "/report.pdf", func(w io.Writer) error { return report.PDF(w, d) }},
		{c.Bundle, whole + ".zip", func(w io.Writer) error { return journal.Pack(snap.Dir, w) }},
	}
	for _, f := range files {
		if !f.wanted {
			continue
		}
		path := filepath.Clean(f.path)
		if err := journal.ReplaceFile(path, f.write); err != nil {
			failed = errors.Join(failed, err)
			continue
		}
		if c.JSON {
			con.say("wrote %s", path)
		} else {
			fmt.Fprintln(con.out, path)
		}
	}
	if c.JSON {
		failed = errors.Join(failed, report.JSON(con.out, d))
	}
	return failed
}

// sign has ssh-keygen sign a copy of captures.digest. The key stays with the program
// that is made for it: one with a passphrase, in an agent or on a token signs too, and
// this one never holds it.
func (c *exportCmd) sign(con *console, snap *job.Snapshot) error {
	if snap.Digest.Job == "" {
		return usagef("the next line stored begins a chain", "%s has no digest to sign yet", c.Job)
	}
	path := journal.FreeName(filepath.Join(snap.Dir, verify.SignedDigest))
	err := journal.ReplaceFile(path, func(w io.Writer) error {
		_, err := io.WriteString(w, snap.Digest.Text())
		return err
	})
	if err != nil {
		return err
	}
	signing := exec.Command("ssh-keygen", "-q", "-Y", "sign", "-n", verify.SignatureOf, "-f", c.Sign, path)
	signing.Stdin, signing.Stderr = os.Stdin, con.err // it may ask for a passphrase
	if err := signing.Run(); err != nil {
		return errors.Join(usagef("name a key that ssh-keygen can sign with", "%s was not signed: %w", c.Job, err), os.Remove(path))
	}
	con.say("signed: %s.sig", path)
	return nil
}

// addPhotos shows the attached photos that are what was attached.
func addPhotos(d *report.Data, snap *job.Snapshot) {
	for _, c := range record.Active(snap.Captures) {
		path := filepath.Join(snap.Dir, filepath.FromSlash(c.Attachment.Path))
		if c.Attachment.Path == "" || journal.FileProblem(path, c.Attachment.SHA256) != "" {
			continue
		}
		if file, err := os.Open(path); err == nil {
			d.AddPhoto(c, file)
			file.Close()
		}
	}
}

// writePage writes the HTML report. A template writes word by word, and a network
// drive takes its time over each.
func writePage(w io.Writer, d report.Data) error {
	whole := bufio.NewWriter(w)
	return errors.Join(report.HTML(&results{to: whole}, d), whole.Flush())
}

// addTraces puts into d what the captures do not hold but the recorded readings
// do: the pressures of the air tests and the harmonics of run-outs taken in one
// turn. What was keyed has no readings and stays without; so does what has a
// damaged file, which the error names.
func addTraces(d *report.Data, snap *job.Snapshot) error {
	var damaged []error
	settle, _ := snap.Sheet.LeakDown.Times()
	for i := range d.Measured {
		m, unit := &d.Measured[i], "mm"
		switch {
		case m.Feature == record.FeatureLeakDown:
			unit = "kPa"
		case !m.Turned():
			continue
		}
		readings, err := readingsBehind(snap, m.Results[0].Capture, unit)
		damaged = append(damaged, err)
		if unit == "kPa" {
			m.Curve = slices.DeleteFunc(readings, func(q leak.Sample) bool { return q.T < settle })
			continue
		}
		turn := report.Each(readings, func(q leak.Sample) analysis.Sample { return analysis.Sample{T: q.T, X: q.P} })
		if len(turn) > 0 {
			m.AddTurn(runout.MeasureTurn(turn, snap.Sheet.RunoutOptions()))
		}
	}
	return errors.Join(damaged...)
}

// readingsBehind are the readings that a capture was made of, in seconds from the
// first and in that unit, with the temperature beside it where there was a
// thermometer; nil where it was keyed. Those of gauges that measure something else
// are left out.
func readingsBehind(snap *job.Snapshot, c record.Capture, unit string) (samples []leak.Sample, err error) {
	file, _, _ := strings.Cut(c.From, ":")
	i := slices.IndexFunc(snap.Readings, func(path string) bool { return filepath.Base(path) == file })
	if i < 0 {
		return nil, nil
	}
	var start time.Time
	celsius := math.NaN()
	for ev, err := range journal.ReadReadings(snap.Readings[i]) {
		if err != nil {
			return nil, err
		}
		if ev.Kind != device.EventReading || ev.Time.After(c.Time) {
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
	return samples, nil
}
