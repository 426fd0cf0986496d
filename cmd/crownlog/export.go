package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"crownlog/logger/export"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/report"
)

type exportCmd struct {
	Job  string `arg:"" help:"Job folder."`
	CSV  bool   `name:"csv" help:"Write record.csv, for the vehicle's file and spreadsheets."`
	HTML bool   `name:"html" help:"Write report.html, to look at and print."`
	PDF  bool   `name:"pdf" help:"Write report.pdf."`
	JSON bool   `name:"json" help:"Print the results as JSON."`
}

// Help is shown by export --help.
func (c *exportCmd) Help() string {
	return "Without a flag it writes record.csv, report.html and report.pdf into the job folder."
}

// Run writes the derived files of a job into its folder, all three where none
// is named, and prints their paths. It reads without locking, so a job can be
// exported while it is being measured.
func (c *exportCmd) Run(con *console) error {
	snap, err := readJob(c.Job)
	if err != nil {
		return err
	}
	if !c.CSV && !c.HTML && !c.PDF && !c.JSON {
		c.CSV, c.HTML, c.PDF = true, true, true
	}
	sayTorn(con, snap)
	d := report.Build(snap.Sheet, snap.Captures, time.Now().Truncate(time.Second))
	id := snap.Digest
	d.Record = report.RecordID{Job: id.Job, First: id.First, Last: id.Last, Lines: id.Lines, Program: "crownlog " + programVersion(), Text: id.Text()}
	attached, changed := journal.CheckAttachments(snap.Dir, snap.Captures)
	d.AddAttachments(attached)
	addPhotos(&d, snap.Dir, attached)
	failed := errors.Join(addTraces(&d, snap), changed) // the captures stand without them
	files := []struct {
		wanted bool
		name   string
		write  func(io.Writer) error
	}{
		{c.CSV, "record.csv", func(w io.Writer) error { return export.WriteRecordCSV(w, snap.Sheet, snap.Captures) }},
		{c.HTML, "report.html", func(w io.Writer) error { return writePage(w, d) }},
		{c.PDF, "report.pdf", func(w io.Writer) error { return report.PDF(w, d) }},
	}
	for _, f := range files {
		if !f.wanted {
			continue
		}
		path := filepath.Join(snap.Dir, f.name)
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

// addPhotos shows the attached photos that are what was attached.
func addPhotos(d *report.Data, dir string, attached []record.CheckedAttachment) {
	for _, a := range attached {
		if file, err := os.Open(filepath.Join(dir, filepath.FromSlash(a.Path))); err == nil {
			if a.Problem == "" {
				d.AddPhoto(a.Path, file)
			}
			file.Close()
		}
	}
}

// writePage writes the HTML report in one piece: a template writes word by word,
// and a network drive takes its time over each.
func writePage(w io.Writer, d report.Data) error {
	var page bytes.Buffer
	if err := report.HTML(&page, d); err != nil {
		return err
	}
	_, err := w.Write(harmless(page.Bytes()))
	return err
}
