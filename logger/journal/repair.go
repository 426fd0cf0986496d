package journal

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
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
}

// Examine reads the captures.csv of a job folder line by line and tells what is
// sound in it. stage is the first in which the adjusters may be moved: a lost
// line that may have been a move is taken for one in it. Examine changes nothing.
// It fails when nothing is damaged, and when there is no file. That dir is a job
// folder with a sound sheet has been seen to before: see CheckSheetFile.
func Examine(dir, stage string) (Repair, error) {
	m := Repair{Path: filepath.Join(dir, captureFile)}
	var err error
	if m.damaged, err = os.ReadFile(m.Path); err != nil {
		return m, noCaptures(m.Path, fmt.Errorf("examine captures: %w", err))
	}
	_, _, _, err = readCaptures(m.Path, bytes.NewReader(m.damaged))
	var damage *DamageError
	if !errors.As(err, &damage) {
		return m, errors.Join(err, fmt.Errorf("%s: every line agrees with its check value", m.Path))
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

// setAside keeps the original first, so that it is there whatever comes next.
func (m *Repair) setAside() error {
	var kept string
	for n, free := 1, false; !free; n++ {
		kept = m.Path + damagedSuffix + strconv.Itoa(n)
		_, err := os.Lstat(kept)
		free = err != nil
	}
	if err := replaceFile(kept, m.damaged); err != nil {
		return err
	}
	out := []byte(captureHeader + lineEnd)
	for i, c := range m.Captures {
		if c.Quality == record.QualityLost {
			c.Note += " " + filepath.Base(kept)
			m.Captures[i] = c
		}
		out = appendCapture(out, c)
	}
	if err := replaceFile(m.Path, out); err != nil {
		return err
	}
	m.KeptAs = kept
	return nil
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
	last, behind := 0, 0 // the highest number, and the lines lost behind it
	for i, line := range lines {
		line = strings.TrimSuffix(line, "\r")
		if i == len(lines)-1 && line == "" || i == 0 && line == captureHeader {
			continue
		}
		c, err := soundLine(line, len(lines))
		if err == nil {
			if old, twice := sound[c.ID]; !twice {
				sound[c.ID] = c
				last, behind = max(last, c.ID), 0
				continue
			} else if line+lineEnd == string(appendCapture(nil, old)) {
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
	c, err := new(captureReader).capture(string(covered))
	if err != nil {
		return record.Capture{}, err
	}
	// A file of which 99 in 100 lines are gone is none to go on with; without a
	// bound one number of ten digits would ask for as many stand-ins.
	if c.ID < 1 || c.ID > 1000+100*lines {
		return record.Capture{}, fmt.Errorf("number %d cannot be among %d lines", c.ID, lines)
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
	if err != nil || len(cells) != captureCells+1 {
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
