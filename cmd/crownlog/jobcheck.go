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
	"crownlog/logger/sheet"
)

type jobCheckCmd struct {
	Path string `arg:"" help:"Job folder or job.toml."`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

// A checkView is what job check --json prints.
type checkView struct {
	Path        string                     `json:"path"`
	Findings    []sheet.Finding            `json:"findings"`
	Attachments []record.CheckedAttachment `json:"attachments"`
}

// Run checks the sheet, and of a job folder also that the record and its
// attached files are whole; a sheet that does not load is an error.
func (c *jobCheckCmd) Run(con *console) error {
	v := checkView{Path: c.Path, Attachments: []record.CheckedAttachment{}}
	folder := isDir(c.Path)
	if folder {
		v.Path = filepath.Join(c.Path, "job.toml")
	}
	s, err := sheet.Load(v.Path)
	if err != nil {
		return err
	}
	v.Findings = append(append([]sheet.Finding{}, job.CheckSheet(s)...), profileFindings(s)...)
	var damaged error
	if folder {
		damaged = v.checkRecord(con, c.Path)
	}
	if c.JSON {
		return errors.Join(con.json(v), damaged)
	}
	for _, f := range v.Findings {
		fmt.Fprintln(con.out, findingLine(f))
	}
	if len(v.Attachments) > 0 {
		fmt.Fprintf(con.out, "attached files looked at: %d\n", len(v.Attachments))
	}
	if len(v.Findings) == 0 && damaged == nil {
		fmt.Fprintln(con.out, v.Path+": nothing to remark")
	}
	return damaged
}

// checkRecord reads the captures and compares the attached files with their
// hashes.
func (v *checkView) checkRecord(con *console, dir string) error {
	snap, err := readJob(dir)
	if err != nil {
		return err
	}
	sayTorn(con, snap)
	for _, h := range job.HoldPoints(snap.Sheet, snap.Captures) {
		if h.Name == sheet.CheckCopied && h.Blocking {
			v.Findings = append(v.Findings, sheet.Finding{Severity: sheet.Warning, Where: "windows", Text: strings.TrimSuffix(h.Reason, ".")})
		}
	}
	attached, err := journal.CheckAttachments(dir, snap.Captures)
	v.Attachments = append(v.Attachments, attached...)
	for _, name := range journal.Orphans(dir, snap.Captures) {
		v.Findings = append(v.Findings, sheet.Finding{Severity: sheet.Warning, Where: name, Text: "no note names this attached file"})
	}
	return err
}

// profileFindings doubts a gauge profile that this computer does not have.
func profileFindings(s sheet.Sheet) []sheet.Finding {
	if s.Gauge.Profile == "" {
		return nil
	}
	if _, err := device.FindProfile(s.Gauge.Profile); err != nil {
		return []sheet.Finding{{Severity: sheet.Warning, Where: "gauge", Text: err.Error()}}
	}
	return nil
}

func findingLine(f sheet.Finding) string {
	return fmt.Sprintf("%s, %s: %s", f.Severity, f.Where, f.Text)
}
