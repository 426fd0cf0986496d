package journal

import (
	"bytes"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"crownlog/logger/record"
)

// damagedSuffix, with a number, ends the name of a damaged captures.csv that
// was set aside.
const damagedSuffix = ".damaged-"

// A LostLine is a line of captures.csv that cannot be used.
type LostLine struct {
	Line   int // 1-based
	Reason string
	Text   string // as it stands there, its beginning where it is long
}

// A Repair says what is sound in a damaged captures.csv.
type Repair struct {
	Path     string
	Sound    int              // captures that agree with their check value
	Lost     []LostLine       // by line
	Captures []record.Capture // the sound ones, and one of QualityLost for each number between that is gone
	KeptAs   string           // where the damaged file is kept, once it was set aside
	damaged  []byte           // the file as it was examined
	own      []record.Capture // the sound lines of the chain's own
	mark     string           // see MarkEdited
	digest   *Digest          // as it was written last; nil: none, or none that can be read
}

// Examine reads the captures.csv of a job folder line by line and tells what is
// sound in it. stage is the first in which the adjusters may be moved: a lost
// line that may have been a move is taken for one in it. Examine changes nothing.
// It fails when nothing is damaged, and when there is no file. That dir is a job
// folder with a sound sheet has been seen to before: see SheetOf.
func Examine(dir, stage string) (Repair, error) {
	m := Repair{Path: filepath.Join(dir, captureFile)}
	var err error
	if m.damaged, err = readPlain(m.Path, mostCaptures); err != nil {
		return m, noCaptures(m.Path, fmt.Errorf("examine captures: %w", err))
	}
	m.digest, err = digestOf(dir)
	if err == nil {
		_, _, _, err = readCaptures(m.Path, bytes.NewReader(m.damaged), m.digest)
	}
	var damage *DamageError
	if !errors.As(err, &damage) {
		return m, errors.Join(err, fmt.Errorf("%s: every line agrees with its check value", m.Path))
	}
	if damage.Reason == errChain.Error() {
		m.mark = MarkEdited
	}
	m.examine(stage)
	return m, nil
}

// SetAside keeps a damaged captures.csv under another name and puts one in its
// place that goes on with the sound lines. It holds the folder's lock meanwhile
// and fails as Examine does, and with ErrFolderInUse.
func SetAside(dir, stage string) (Repair, error) {
	lock, err := lockFolder(dir)
	if err != nil {
		return Repair{}, err
	}
	m, err := Examine(dir, stage)
	if err == nil {
		err = m.setAside()
	}
	return m, errors.Join(err, lock.Unlock())
}

// setAside keeps the original first, so that it is there whatever comes next. What
// goes on is chained anew, and its second line says for ever that it was.
func (m *Repair) setAside() error {
	kept := FreeName(m.Path + damagedSuffix)
	if err := replaceFile(kept, m.damaged); err != nil {
		return err
	}
	for i, c := range m.Captures {
		if c.Quality == record.QualityLost {
			m.Captures[i].Note += " " + filepath.Base(kept)
		}
	}
	text, digest := m.written(filepath.Base(kept))
	if err := replaceFile(m.Path, text); err != nil {
		return err
	}
	m.KeptAs = kept
	return replaceFile(filepath.Join(filepath.Dir(m.Path), digestFile), []byte(digest.Text()))
}

// written is the journal that goes on, with every line of the chain's own where it
// stood.
func (m *Repair) written(kept string) ([]byte, Digest) {
	f := Folder{opened: time.Now()}
	own := m.own
	if len(own) == 0 || own[0].Feature != EntryChain {
		own = slices.Insert(own, 0, f.entry(EntryChain, "", newJob(), ""))
	}
	own = slices.Insert(own, 1, f.entry(EntryRepair, kept, hashOf(m.damaged), m.mark))
	out, l := []byte(captureHeader+lineEnd), ledger{sum: headerSum(captureHeader)}
	for i, c := range m.Captures {
		for len(own) > 0 && (own[0].N <= i || l.digest.Lines < 2) {
			out = l.append(out, own[0])
			own = own[1:]
		}
		out = l.append(out, c)
	}
	for _, c := range own {
		out = l.append(out, c)
	}
	return out, l.whole()
}

// longLine is how much of a lost line is told, in bytes: a usual one is told whole.
const longLine = 200

// examine sorts the lines into sound and lost ones. Line ends and a byte order
// mark that another program changed do no harm to a line.
func (m *Repair) examine(stage string) {
	text := strings.TrimPrefix(string(m.damaged), "\ufeff")
	if !strings.Contains(text, "\n") {
		text = strings.ReplaceAll(text, "\r", "\n")
	}
	lines := strings.Split(text, "\n")
	sound, damaged := make(map[int]record.Capture), make(map[int]string)
	cells := make(map[int]string)
	last, behind := 0, 0 // the highest number, and the lines lost behind it
	for i, line := range lines {
		line = strings.TrimSuffix(line, "\r")
		if i == len(lines)-1 && line == "" || i == 0 && (line == captureHeader || slices.Contains(olderHeaders, line)) {
			continue
		}
		c, err := soundLine(line, len(lines))
		if err == nil && c.ID == 0 {
			if c.N = last; c.Feature != EntryChain || len(m.own) == 0 {
				m.own = append(m.own, c)
			}
			continue
		}
		if err == nil {
			if _, twice := sound[c.ID]; !twice {
				sound[c.ID], cells[c.ID] = c, line
				last, behind = max(last, c.ID), 0
				continue
			} else if line == cells[c.ID] {
				continue // the same line twice says nothing new
			}
			err = fmt.Errorf("another line has number %d", c.ID)
		}
		lost := LostLine{Line: i + 1, Reason: err.Error(), Text: line}
		if len(line) > longLine {
			lost.Text = strings.ToValidUTF8(line[:longLine], "") + "…"
		}
		m.Lost = append(m.Lost, lost)
		// Lines lost behind the highest number may have had numbers of their own:
		// each gets one, for each may have been a move. A torn last line was never
		// announced, and the header has no number.
		if unfinished := i == len(lines)-1; !unfinished && i > 0 {
			behind++
			number, _, _ := strings.Cut(line, ",")
			if n, err := strconv.Atoi(number); err == nil {
				damaged[n] = line
			}
		}
	}
	if m.digest != nil {
		for n := len(lines) - 1; n <= m.digest.Lines && n < 1000+100*len(lines); n++ {
			m.Lost = append(m.Lost, LostLine{Line: n + 1, Reason: "missing at the end, by " + digestFile})
			behind++
		}
	}
	m.Sound = len(sound)
	before := time.Time{}
	for n := 1; n <= last+behind; n++ {
		c, ok := sound[n]
		if !ok {
			c = standIn(n, damaged[n], stage, before)
		}
		m.Captures = append(m.Captures, c)
		before = c.Time
	}
}

// soundLine reads a line without its end that agrees with its check value. Of a
// number far beyond the count of lines nothing can be made.
func soundLine(line string, lines int) (record.Capture, error) {
	covered, err := checkedCells([]byte(line))
	if err != nil {
		return record.Capture{}, err
	}
	c, _, chain, err := new(ledger).parse(string(covered))
	if err == nil && c.ID == 0 && chain != "" {
		return c, checkEntry(c, c.N, c.Feature != EntryChain)
	}
	// A file of which 99 in 100 lines are gone is none to go on with; without a
	// bound one number of ten digits would ask for as many stand-ins.
	if err == nil && (c.ID < 1 || c.ID > 1000+100*lines) {
		err = fmt.Errorf("number %d cannot be among %d lines", c.ID, lines)
	}
	if err != nil {
		return record.Capture{}, err
	}
	return c, checkCapture(c, c.ID-1)
}

// standIn takes the place of a lost line, so that the numbers stay. What the
// words of the line still name as superseded stays superseded. Of a line that
// was a move, or that could have been one, it makes a move of unknown size:
// what was measured before it has to be measured again.
func standIn(number int, text, stage string, at time.Time) record.Capture {
	c := record.Blank(stage, record.FeatureMove, at)
	c.ID, c.Quality, c.Note = number, record.QualityLost, "a line was lost, perhaps a move; the file as it was is"
	cells, err := splitCells(text, nil)
	if n := len(cells); err != nil || n != oldCells+1 && n != partlessCells+2 && n != captureCells+2 {
		return c
	}
	if s, err := strconv.Atoi(cells[1]); err == nil && s > 0 && s < number {
		c.Supersedes = s
	}
	if _, known := record.UnitOf(cells[4]); known && cells[4] != record.FeatureMove {
		c.Feature = record.FeatureNote
		c.Note = fmt.Sprintf("a line was lost, it seems of %s, %s; the file as it was is", record.Title(cells[4]), unguardText(cells[3]))
	}
	return c
}
