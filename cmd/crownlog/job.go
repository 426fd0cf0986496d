package main

import (
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"text/tabwriter"
	"time"

	"crownlog/analysis"
	"crownlog/device"
	"crownlog/logger"
)

type jobCmd struct {
	New      jobNewCmd      `cmd:"" help:"Open a new job folder with a commented job sheet."`
	Show     jobShowCmd     `cmd:"" help:"Show where a job stands and what comes next."`
	Check    jobCheckCmd    `cmd:"" help:"Check a job sheet for mistakes and misprints."`
	Move     jobMoveCmd     `cmd:"" help:"Record an adjuster move."`
	Note     jobNoteCmd     `cmd:"" help:"Record a note: sealant, oil batch, anything."`
	Attach   jobAttachCmd   `cmd:"" help:"Copy a photo or document into the job, with its hash."`
	Override jobOverrideCmd `cmd:"" help:"Pass a hold point, with the reason that goes on record."`
	Mend     jobMendCmd     `cmd:"" help:"Show what is sound in a damaged captures.csv, and go on with it."`
	Undo     jobUndoCmd     `cmd:"" help:"Take back one line of the record; both stay in it."`
}

type jobShowCmd struct {
	Job  string `arg:"" help:"Job folder."`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

// A jobView is a job as job show --json prints it.
type jobView struct {
	Vehicle  string     `json:"vehicle"`
	Job      string     `json:"job"`
	Axle     string     `json:"axle"`
	Invented bool       `json:"invented"`
	Captures int        `json:"captures"`
	Steps    []stepView `json:"steps"`
	Holds    []holdView `json:"hold_points"`
	Next     *stepView  `json:"next"`
	Torn     string     `json:"torn"`
}

type stepView struct {
	Stage     string `json:"stage"`
	Feature   string `json:"feature"`
	Title     string `json:"title"`
	Done      bool   `json:"done"`
	Verdict   string `json:"verdict"` // once it is done
	Optional  bool   `json:"optional"`
	Measured  int    `json:"measured"`
	Positions int    `json:"positions"`
}

type holdView struct {
	Name       string `json:"name"`
	Before     string `json:"before"`
	Reason     string `json:"reason"`
	Blocking   bool   `json:"blocking"`
	Overridden string `json:"overridden"`
}

// Run shows the job.
func (c *jobShowCmd) Run(con *console) error {
	snap, err := readJob(c.Job)
	if err != nil {
		return err
	}
	v := newJobView(snap)
	if c.JSON {
		return con.json(v)
	}
	printJob(con, v)
	sayTorn(con, snap)
	return nil
}

func newJobView(snap *logger.Snapshot) jobView {
	job := logger.Job{Sheet: snap.Sheet, Captures: snap.Captures}
	v := jobView{
		Vehicle: snap.Sheet.Vehicle.Label, Job: snap.Sheet.Vehicle.Job, Axle: snap.Sheet.Vehicle.Axle,
		Invented: snap.Sheet.Invented, Captures: len(snap.Captures), Torn: snap.Torn,
		Steps: []stepView{}, Holds: []holdView{},
	}
	for _, s := range job.Steps() {
		v.Steps = append(v.Steps, newStepView(s))
	}
	for _, h := range logger.HoldPoints(snap.Sheet, snap.Captures) {
		v.Holds = append(v.Holds, holdView(h))
	}
	if next, ok := job.Next(); ok {
		s := newStepView(next)
		v.Next = &s
	}
	return v
}

func newStepView(s logger.Step) stepView {
	return stepView{Stage: s.Stage, Feature: s.Feature, Title: s.Title, Done: s.Done,
		Verdict: verdictWord(s.Verdict), Optional: s.Optional, Measured: s.Measured, Positions: s.Positions}
}

func printJob(con *console, v jobView) {
	title := strings.Join(strings.Fields(v.Vehicle+" "+v.Axle+" "+v.Job), " ")
	if v.Invented {
		title += " (invented data)"
	}
	fmt.Fprintln(con.out, title)
	table := tabwriter.NewWriter(con.out, 0, 0, 2, ' ', 0)
	for _, s := range v.Steps {
		state := "to do"
		switch {
		case s.Verdict == string(analysis.Outside):
			state = "OUTSIDE"
		case s.Verdict == string(analysis.TooClose):
			state = "too close to call"
		case s.Done:
			state = "done"
		case s.Measured > 0:
			state = fmt.Sprintf("%d of %d", s.Measured, s.Positions)
		case s.Optional:
			state = "optional"
		}
		fmt.Fprintf(table, "  %s\t%s\t%s\t%s\n", s.Stage, s.Feature, state, s.Title)
	}
	table.Flush()
	for _, h := range v.Holds {
		if h.Blocking {
			fmt.Fprintf(con.out, "HOLD before %s (%s): %s\n", h.Before, h.Name, h.Reason)
		}
		if h.Overridden != "" {
			fmt.Fprintf(con.out, "overridden %s: %s\n", h.Name, h.Overridden)
		}
	}
	if v.Next != nil {
		fmt.Fprintf(con.out, "next: %s (--stage %s --feature %s)\n", v.Next.Title, v.Next.Stage, v.Next.Feature)
	}
}

// sayTorn tells of an unfinished last line, which counts for nothing.
func sayTorn(con *console, snap *logger.Snapshot) {
	if snap.Torn != "" {
		con.say("the last line of captures.csv was cut short: %q; the next writer sets it aside", snap.Torn)
	}
}

type jobCheckCmd struct {
	Path string `arg:"" help:"Job folder or job.toml."`
	JSON bool   `name:"json" help:"Print one JSON object."`
}

// A checkView is what job check --json prints.
type checkView struct {
	Path        string           `json:"path"`
	Findings    []findingView    `json:"findings"`
	Attachments []attachmentView `json:"attachments"`
}

type attachmentView struct {
	Path    string `json:"path"`
	SHA256  string `json:"sha256"`
	Problem string `json:"problem"` // "" if it is as it was attached
}

type findingView struct {
	Severity logger.Severity `json:"severity"`
	Where    string          `json:"where"`
	Text     string          `json:"text"`
}

// Run checks the sheet, and of a job folder also that the record and its
// attached files are whole; a sheet that does not load is an error.
func (c *jobCheckCmd) Run(con *console) error {
	v := checkView{Path: c.Path, Findings: []findingView{}, Attachments: []attachmentView{}}
	info, err := os.Stat(c.Path)
	folder := err == nil && info.IsDir()
	if folder {
		v.Path = filepath.Join(c.Path, "job.toml")
	}
	sheet, err := logger.LoadSheet(v.Path)
	if err != nil {
		return err
	}
	for _, f := range append(sheet.Check(), profileFindings(sheet)...) {
		v.Findings = append(v.Findings, findingView(f))
	}
	var damaged error
	if folder {
		damaged = v.checkRecord(con, c.Path)
	}
	if c.JSON {
		return errors.Join(con.json(v), damaged)
	}
	for _, f := range v.Findings {
		fmt.Fprintln(con.out, findingLine(logger.Finding(f)))
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
	attached, err := logger.CheckAttachments(dir, snap.Captures)
	for _, a := range attached {
		v.Attachments = append(v.Attachments, attachmentView{a.Path, a.SHA256, a.Problem})
	}
	return err
}

// profileFindings doubts a gauge profile that this computer does not have.
func profileFindings(s logger.Sheet) []logger.Finding {
	if s.Gauge.Profile == "" {
		return nil
	}
	if _, err := device.FindProfile(s.Gauge.Profile); err != nil {
		return []logger.Finding{{Severity: logger.Warning, Where: "gauge", Text: err.Error()}}
	}
	return nil
}

func findingLine(f logger.Finding) string {
	return fmt.Sprintf("%s, %s: %s", f.Severity, f.Where, f.Text)
}

type jobNoteCmd struct {
	Job   string `arg:"" help:"Job folder."`
	Text  string `arg:"" help:"The note."`
	Stage string `help:"Stage of the job. Default: the one it is at."`
}

// Run records the note.
func (c *jobNoteCmd) Run(con *console) error {
	return record(con, c.Job, c.Stage, func(f *logger.Folder, stage string) (logger.Capture, error) {
		return logger.RecordNote(f, stage, c.Text, time.Now())
	})
}

type jobAttachCmd struct {
	Job   string `arg:"" help:"Job folder."`
	File  string `arg:"" help:"Photo or document to copy in."`
	Note  string `help:"What it shows."`
	Stage string `help:"Stage of the job. Default: the one it is at."`
}

// Run copies the file in.
func (c *jobAttachCmd) Run(con *console) error {
	return record(con, c.Job, c.Stage, func(f *logger.Folder, stage string) (logger.Capture, error) {
		return f.Attach(stage, c.File, c.Note, time.Now())
	})
}

type jobOverrideCmd struct {
	Job    string `arg:"" help:"Job folder."`
	Hold   string `arg:"" help:"Name of the hold point, as job show prints it."`
	Reason string `arg:"" help:"Why it is passed."`
	Stage  string `help:"Stage of the job. Default: the one it is at."`
}

// Run records the override of a hold point that exists.
func (c *jobOverrideCmd) Run(con *console) error {
	return record(con, c.Job, c.Stage, func(f *logger.Folder, stage string) (logger.Capture, error) {
		var names []string
		for _, h := range logger.HoldPoints(f.Sheet(), f.Captures()) {
			if h.Name == c.Hold {
				return logger.RecordOverride(f, stage, c.Hold, c.Reason, time.Now())
			}
			names = append(names, h.Name)
		}
		return logger.Capture{}, usagef("one of "+strings.Join(names, ", "), "no hold point %q", c.Hold)
	})
}

type jobUndoCmd struct {
	Job    string `arg:"" help:"Job folder."`
	Number int    `arg:"" help:"Number of the capture, move, note, override or attachment, the first cell of its line in captures.csv."`
}

// Run adds a line that takes the capture back; nothing is erased.
func (c *jobUndoCmd) Run(con *console) error {
	folder, err := openJob(con, c.Job)
	if err != nil {
		return err
	}
	was, err := logger.Reject(folder, c.Number, time.Now())
	switch {
	case err != nil:
		err = usagef("the numbers are in the first column of captures.csv", "%w", err)
	default:
		fmt.Fprintf(con.out, "undone: number %d, %s\n", was.ID, captureWords(was))
		_, err = folder.WriteRecord()
	}
	return errors.Join(err, folder.Close())
}

// captureWords says in a few words what a capture holds.
func captureWords(c logger.Capture) string {
	words := logger.FeatureTitle(c.Feature) + ", " + c.Stage
	if c.Position > 0 {
		words += fmt.Sprintf(", position %d", c.Position)
	}
	if !math.IsNaN(c.Value) {
		words += strings.TrimRight(fmt.Sprintf(": %g %s", c.Value, c.Unit), " ")
	}
	if c.Note != "" {
		words += " (" + c.Note + ")"
	}
	return words
}

// record opens the job, writes one capture at the stage named, or at the one
// the job is at, and says its number.
func record(con *console, dir, stage string, write func(f *logger.Folder, stage string) (logger.Capture, error)) error {
	folder, err := openJob(con, dir)
	if err != nil {
		return err
	}
	job := logger.Job{Sheet: folder.Sheet(), Captures: folder.Captures()}
	if stage == "" {
		stage = job.At()
	}
	var c logger.Capture
	if stages := job.Sheet.StageList(); slices.Contains(stages, stage) {
		c, err = write(folder, stage)
	} else {
		err = usagef("one of "+strings.Join(stages, ", "), "no stage %q in the job sheet", stage)
	}
	if err == nil {
		fmt.Fprintf(con.out, "recorded %s at %s as number %d\n", c.Feature, c.Stage, c.ID)
		_, err = folder.WriteRecord()
	}
	return errors.Join(err, folder.Close())
}

// openJob opens a job folder for writing and reports a torn last line.
func openJob(con *console, dir string) (*logger.Folder, error) {
	folder, err := logger.OpenFolder(dir)
	if err != nil {
		return nil, jobError(dir, err)
	}
	if torn := folder.Torn(); torn != "" {
		con.say("the last line of %s was cut short and is set aside in captures.csv.torn: %q", dir, torn)
	}
	return folder, nil
}

// readJob reads a job folder without locking it.
func readJob(dir string) (*logger.Snapshot, error) {
	snap, err := logger.ReadFolder(dir)
	if err != nil {
		return nil, jobError(dir, err)
	}
	return snap, nil
}

// jobError adds what to do about a job folder that does not open.
func jobError(dir string, err error) error {
	switch {
	case errors.Is(err, logger.ErrNotJobFolder):
		return usagef("crownlog job new "+dir+" makes one", "%w", err)
	case errors.Is(err, logger.ErrFolderInUse):
		return usagef("close the crownlog that is writing to it", "%w", err)
	}
	return err
}
