package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"crownlog/device"
	"crownlog/logger/job"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/report"
	"crownlog/logger/sheet"
)

type jobCheckCmd struct {
	Path string `arg:"" help:"Job folder or job.toml."`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

// Run checks the sheet, and of a job folder also that the record and its
// attached files are whole; a sheet that does not load is an error.
func (c *jobCheckCmd) Run(con *console) error {
	path, folder := c.Path, isDir(c.Path)
	if folder {
		path = filepath.Join(c.Path, journal.SheetFile)
	}
	s, err := sheet.Load(path)
	if err != nil {
		return err
	}
	found := append([]sheet.Finding{}, job.CheckSheet(s)...)
	if s.Gauge.Profile != "" { // this computer may not have it
		if _, _, err := device.FindProfile(s.Gauge.Profile); err != nil {
			found = append(found, sheet.Finding{Severity: sheet.Warning, Where: "gauge", Text: err.Error()})
		}
	}
	attached := []record.CheckedAttachment{}
	var damaged error
	if folder {
		found, attached, damaged = lookAtRecord(con, c.Path, found)
	}
	if c.JSON {
		return errors.Join(con.json(report.Object{{"path", path}, {"findings", found}, {"attachments", attached}}), damaged)
	}
	for _, f := range found {
		fmt.Fprintln(con.out, findingLine(f))
	}
	if len(attached) > 0 {
		fmt.Fprintf(con.out, "attached files looked at: %d\n", len(attached))
	}
	if len(found) == 0 && damaged == nil {
		fmt.Fprintln(con.out, path+": nothing to remark")
	}
	return damaged
}

// lookAtRecord reads the captures and compares the attached files with their
// hashes. It puts what is to be remarked behind found.
func lookAtRecord(con *console, dir string, found []sheet.Finding) ([]sheet.Finding, []record.CheckedAttachment, error) {
	snap, err := job.Read(dir)
	if err != nil {
		return found, []record.CheckedAttachment{}, err
	}
	sayTorn(con, snap)
	for _, h := range job.HoldPoints(snap.Sheet, snap.Captures) {
		if h.Name == sheet.CheckCopied && h.Blocking {
			found = append(found, sheet.Finding{Severity: sheet.Warning, Where: "windows", Text: strings.TrimSuffix(h.Reason, ".")})
		}
	}
	for _, name := range journal.Orphans(dir, snap.Captures) {
		found = append(found, sheet.Finding{Severity: sheet.Warning, Where: name, Text: "no note names this attached file"})
	}
	attached, err := journal.CheckAttachments(dir, snap.Captures)
	return found, append([]record.CheckedAttachment{}, attached...), err
}

func findingLine(f sheet.Finding) string {
	return fmt.Sprintf("%s, %s: %s", f.Severity, f.Where, f.Text)
}

type jobMendCmd struct {
	Job      string `arg:"" help:"Job folder."`
	SetAside bool   `help:"Keep the damaged file under another name and go on with the sound lines."`
}

// Run lists what is lost. Only --set-aside changes anything, and the damaged
// file is kept.
func (c *jobMendCmd) Run(con *console) error {
	look := job.ExamineJob
	if c.SetAside {
		look = job.SetJobAside
	}
	m, err := look(c.Job)
	if err != nil {
		return err
	}
	fmt.Fprintf(con.out, "%s: %s sound\n", filepath.Base(m.Path), count(m.Sound, "capture"))
	for _, l := range m.Lost {
		fmt.Fprintf(con.out, "line %d is lost, %s: %q\n", l.Line, l.Reason, l.Text)
	}
	for _, c := range m.Captures {
		switch {
		case c.Quality != record.QualityLost:
		case c.Feature == record.FeatureMove:
			fmt.Fprintf(con.out, "number %d may have been an adjuster move: backlash and pattern before it, but as found, are to be measured again; job undo %d if it was none\n", c.ID, c.ID)
		default:
			fmt.Fprintf(con.out, "number %d is left out\n", c.ID)
		}
	}
	if !c.SetAside {
		return &hinted{code: exitRecord, err: fmt.Errorf("%s: the record is damaged; nothing was changed", m.Path),
			hint: "crownlog job mend " + c.Job + " --set-aside keeps this file as it is under another name and goes on with the sound lines"}
	}
	fmt.Fprintf(con.out, "the damaged file is kept as %s\n", m.KeptAs)
	return withJob(con, "", c.Job, func(*job.Folder) error { return nil }) // for its record.csv
}
