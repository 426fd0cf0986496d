// Package verify says whether the record of a job is the one that was made: that
// no line was changed, that every file is the one that was sealed, and that the
// readings give the captures again.
package verify

import (
	"bytes"
	"errors"
	"fmt"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"crownlog/logger"
	"crownlog/logger/journal"
	"crownlog/logger/record"
	"crownlog/logger/sheet"
)

// A Finding is something that is not as it was made, or that whoever relies on
// the record ought to know.
type Finding struct {
	Broken bool   `json:"broken"` // the record is not sound
	Path   string `json:"path"`   // of the file, inside the job folder, with slashes
	Line   int    `json:"line"`   // 1-based; 0: the file as a whole
	Text   string `json:"text"`
}

// A Result is what was found of a job.
type Result struct {
	Sound    bool           `json:"sound"`
	Digest   journal.Digest `json:"digest"`
	Captures int            `json:"captures"`
	Replayed int            `json:"replayed"` // captures that the readings gave again
	Findings []Finding      `json:"findings"`

	dir  string
	snap *journal.Snapshot
}

// Limits says what no check of a folder can show.
const Limits = "Not shown: a folder whose every file was written anew, readings too, agrees with itself. " +
	"Compare the digest with one that was kept elsewhere, on a signed report or in another's hands."

const captures = "captures.csv"

// Job goes through the job folder dir, and compares it with the digest in the file
// kept, "" for none. now is what the times in it are measured by. An error says
// that dir is no job folder or cannot be read: what is wrong with a record is a
// finding.
func Job(dir, kept string, now time.Time) (Result, error) {
	r := Result{dir: dir, Findings: []Finding{}}
	var current sheet.Sheet
	var wrong, err error
	r.snap, err = journal.Read(dir, func(path string, text []byte) error {
		current, wrong = sheet.Parse(path, text)
		return wrong
	})
	switch {
	case err == nil:
		r.whole(current, kept, now)
	case !r.damaged(err) && wrong != nil && !errors.Is(err, journal.ErrNotJobFolder):
		r.add(true, journal.SheetFile, 0, "%v", wrong)
	case len(r.Findings) == 0:
		return r, err
	}
	r.Sound = !slices.ContainsFunc(r.Findings, func(f Finding) bool { return f.Broken })
	return r, nil
}

func (r *Result) add(broken bool, path string, line int, format string, args ...any) {
	r.Findings = append(r.Findings, Finding{broken, filepath.ToSlash(path), line, fmt.Sprintf(format, args...)})
}

// damaged adds what is damaged, if err says that.
func (r *Result) damaged(err error) bool {
	var damage *journal.DamageError
	if errors.As(err, &damage) {
		r.add(true, r.inside(damage.Path), damage.Line, "%s", damage.Reason)
	}
	return damage != nil
}

// inside is a path as it is called inside the folder.
func (r *Result) inside(path string) string {
	if in, err := filepath.Rel(r.dir, path); err == nil {
		return filepath.ToSlash(in)
	}
	return path
}

// whole goes through a record whose chain holds.
func (r *Result) whole(current sheet.Sheet, kept string, now time.Time) {
	r.Digest, r.Captures = r.snap.Digest, len(r.snap.Captures)
	if r.Digest.Job == "" {
		r.add(r.Captures > 0, captures, 1, "its %d captures were made before there was a chain: nothing shows that they are as they were made; the next line stored begins one", r.Captures)
		return
	}
	if kept != "" {
		if err := journal.Kept(r.dir, kept); !r.damaged(err) && err != nil {
			r.add(true, kept, 0, "%v", err)
		}
	}
	under := r.entries()
	r.attached()
	r.handed()
	r.told(current, now)
	for _, path := range r.snap.Readings {
		r.round(path, under)
	}
}

// entries compares every file that stands in the chain with its hash and lists
// what became of job.toml. It returns the sheet that each readings file was made
// under, by the names of both.
func (r *Result) entries() map[string]string {
	under, now := make(map[string]string), ""
	var text []byte
	for _, e := range r.snap.Entries {
		path := filepath.Join(r.dir, filepath.FromSlash(e.Path))
		if problem := journal.FileProblem(path, e.SHA256); e.Path != "" && problem != "" {
			r.add(true, e.Path, 0, "the file %s; its hash stands in %s:%d", problem, captures, e.Line)
		}
		switch e.Kind {
		case journal.EntryChain:
			if e.After > 0 {
				r.add(false, captures, e.Line, "the %d captures before this line were made before there was a chain: it shows what they were when it began", e.After)
			}
		case journal.EntrySheet:
			before := text
			text, _ = journal.ReadSheet(path) // told above
			if now != "" {
				r.add(false, captures, e.Line, "from capture %d on %s is another: %s", e.After+1, journal.SheetFile, changes(before, text))
			}
			now = e.Path
		case journal.EntrySeal:
			if under[e.Path] = now; e.Mark == journal.MarkLate {
				r.add(false, captures, e.Line, "%s was sealed by a later run, as it was found: the run that made it did not end", e.Path)
			}
		case journal.EntryRepair:
			r.add(e.Mark == journal.MarkEdited, captures, e.Line, "REPAIRED: the journal was mended and chained anew (%s); as it was it is %s", e.Mark, e.Path)
		}
	}
	if !bytes.Equal(text, r.snap.Sheet) {
		common := 0
		for common < min(len(text), len(r.snap.Sheet)) && text[common] == r.snap.Sheet[common] {
			common++
		}
		r.add(true, journal.SheetFile, 1+bytes.Count(text[:common], []byte("\n")), "it was changed since the last line was stored: %s; the next line stored logs it", changes(text, r.snap.Sheet))
	}
	for _, path := range r.snap.Readings {
		if in := r.inside(path); under[in] == "" {
			under[in] = now
			r.add(true, in, 0, "no line of %s seals it: its run goes on or was killed, or lines were removed; the next run seals it as it is found", captures)
		}
	}
	return under
}

// attached compares the attached files with their hashes.
func (r *Result) attached() {
	checked, _ := journal.CheckAttachments(r.dir, r.snap.Captures) // each has its problem
	for _, a := range checked {
		if a.Problem != "" {
			r.add(true, a.Path, 0, "the attached file %s", a.Problem)
		}
	}
	for _, name := range journal.Orphans(r.dir, r.snap.Captures) {
		r.add(false, name, 0, "no note names this attached file: attaching it was broken off, or it was copied in")
	}
}

// firstYear is before any computer that runs this program was set up; one whose
// clock has lost its battery begins in 1970 or 2000, a simulated one in 2000.
const firstYear = 2001

// told looks at what is told of each capture.
func (r *Result) told(current sheet.Sheet, now time.Time) {
	stages, keyed := current.StageList(), 0
	var before time.Time
	for _, c := range r.snap.Captures {
		say := func(broken bool, format string, args ...any) {
			r.add(broken, captures, r.snap.LineOf(c.ID), format, args...)
		}
		switch {
		case c.Quality == record.QualityLost:
			say(false, "%s", c.Note)
			continue
		case c.Time.Year() < firstYear, c.Time.After(now.Add(24 * time.Hour)):
			say(false, "the clock stood at %s: the times of this run are not known", c.Time.Format(time.DateTime))
		case c.Time.Before(before.Add(-time.Second)):
			say(false, "the clock went back by %v since the capture before", before.Sub(c.Time).Round(time.Second))
		}
		before = c.Time
		switch {
		case !slices.Contains(stages, c.Stage):
			say(true, "stage %q is not in %s", c.Stage, journal.SheetFile)
		case c.Feature == record.FeatureOverride:
			say(false, "OVERRIDDEN at %s, %s", c.Stage, c.NoteText())
		case c.Quality == record.QualityRejected:
			say(false, "capture %d was taken back", c.Supersedes)
		case record.IsMeasured(c.Feature) && c.From == "":
			keyed++
		}
	}
	if keyed > 0 {
		r.add(false, captures, 0, "%d values have no readings behind them: they were typed in, or made before readings were tied to them", keyed)
	}
}

// round measures a round again from its readings, and looks for every capture of it
// among those they give, and the other way round.
func (r *Result) round(path string, under map[string]string) {
	in, name := r.inside(path), filepath.Base(path)
	s, err := sheet.Load(filepath.Join(r.dir, filepath.FromSlash(under[in])))
	var again []record.Capture
	if err == nil {
		again, err = logger.Replay(s, r.snap.Captures, name, journal.ReadReadings(path))
	}
	if err != nil {
		if !r.damaged(err) {
			r.add(!errors.Is(err, logger.ErrNotRecorded), in, 0, "its round cannot be measured again: %v", err)
		}
		return
	}
	given := make(map[int]record.Capture)
	for _, c := range again {
		if record.IsMeasured(c.Feature) {
			given[c.ID] = c
		}
	}
	for _, c := range r.snap.Captures {
		other, ok := given[c.ID]
		mine := strings.HasPrefix(c.From, name+":") && record.IsMeasured(c.Feature)
		if c.Supersedes > 0 && r.snap.Captures[c.Supersedes-1].Quality == record.QualityLost {
			other.Supersedes = c.Supersedes // nobody knows any more what it was
		}
		switch {
		case mine && !ok:
			r.add(true, captures, r.snap.LineOf(c.ID), "%s does not give this capture", in)
		case mine:
			if differs := journal.Differs(c, other); differs != "" {
				r.add(true, captures, r.snap.LineOf(c.ID), "%s: %s", in, differs)
				break
			}
			r.Replayed++
		}
		if mine || c.Quality == record.QualityLost {
			delete(given, c.ID)
		}
	}
	late := slices.ContainsFunc(r.snap.Entries, func(e journal.Entry) bool { return e.Path == in && e.Mark == journal.MarkLate })
	for _, id := range slices.Sorted(maps.Keys(given)) {
		if c := given[id]; !late { // a killed run may not have come to store its last
			r.add(true, in, 0, "it gives %s %d at %s, which is not in %s", record.Title(c.Feature), c.Position, c.Stage, captures)
		}
	}
}

// changes tells the lines in which two sheets differ, those that went and those
// that came.
func changes(before, after []byte) string {
	var told []string
	for _, side := range []struct{ sign, of, with string }{{"-", string(before), string(after)}, {"+", string(after), string(before)}} {
		for n, line := range strings.Split(side.of, "\n") {
			if line = strings.TrimSpace(line); line != "" && !strings.Contains("\n"+side.with+"\n", "\n"+line+"\n") {
				told = append(told, fmt.Sprintf("%s line %d %q", side.sign, n+1, record.CutLong(line)))
			}
		}
	}
	if len(told) > 6 { // one line of a message
		told = append(told[:6], fmt.Sprintf("and %d more", len(told)-6))
	}
	return strings.Join(told, ", ")
}
