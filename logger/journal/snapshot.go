package journal

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"crownlog/logger/record"
)

// A Snapshot is a job folder as a reader sees it at one moment.
type Snapshot struct {
	Dir      string
	Captures []record.Capture
	Entries  []Entry  // the lines between them that are the record's own
	Digest   Digest   // of captures.csv
	Sheet    []byte   // job.toml
	Torn     string   // an unfinished last line of captures.csv; "" if none
	Readings []string // paths of the readings files, by stage and feature, in the order they were made
}

// Read reads a job folder without its lock and changes nothing in it, so
// it may be called while a writer runs. It fails as OpenFolder does.
func Read(dir string, check CheckSheet) (*Snapshot, error) {
	sheet, err := SheetOf(dir, check)
	if err != nil {
		return nil, err
	}
	r, torn, err := readStored(dir)
	if err != nil {
		return nil, err
	}
	readings, err := listReadings(filepath.Join(dir, readingsDir))
	if err != nil {
		return nil, err
	}
	return &Snapshot{
		Dir: dir, Captures: r.captures, Entries: r.entries, Digest: r.whole(), Sheet: sheet, Torn: string(torn), Readings: readings,
	}, nil
}

// LineOf is the line of captures.csv that a capture stands in, by its number.
func (s *Snapshot) LineOf(id int) int {
	line := id + 1
	for _, e := range s.Entries {
		if e.After < id {
			line++
		}
	}
	return line
}

// readStored reads the journal of dir. The digest first: what a writer adds between
// the two is behind it. One that is read in two halves, or just before it is made,
// is read again.
func readStored(dir string) (l *ledger, torn []byte, err error) {
	for range 3 {
		var last *Digest
		if last, err = digestOf(dir); err == nil {
			if l, torn, err = readUpTo(dir, last); err == nil {
				return l, torn, nil
			}
		}
	}
	return nil, nil, err
}

// Kept says why the journal of dir is not the one that a digest kept in a file of
// its own was made of, nil where it is, perhaps with more lines.
func Kept(dir, file string) error {
	d, err := readDigest(file)
	if err == nil && d == nil {
		return fmt.Errorf("open digest %s: %w", file, fs.ErrNotExist)
	}
	if err == nil {
		_, _, err = readUpTo(dir, d)
	}
	return err
}

// readUpTo reads the journal of dir, of which last is a digest. What a writer adds
// meanwhile is a whole line more, or a piece that counts as torn: the lines before
// it do not change.
func readUpTo(dir string, last *Digest) (*ledger, []byte, error) {
	path := filepath.Join(dir, captureFile)
	file, err := openPlain(path, mostCaptures)
	if err != nil {
		return nil, nil, noCaptures(path, fmt.Errorf("open captures: %s: %w", path, err))
	}
	l, _, torn, err := readCaptures(path, file, last)
	return l, torn, errors.Join(err, file.Close())
}

// listReadings lists the readings files by name, their numbers as numbers: -9
// comes before -10. A folder without any is fine.
func listReadings(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil && (isFile(dir) || !errors.Is(err, fs.ErrNotExist)) {
		return nil, fmt.Errorf("list readings: %w", err)
	}
	var paths []string
	for _, e := range entries {
		if filepath.Ext(e.Name()) == ".csv" && !e.IsDir() {
			paths = append(paths, filepath.Join(dir, e.Name()))
		}
	}
	slices.SortFunc(paths, func(a, b string) int {
		roundA, numberA := ReadingsRound(a)
		roundB, numberB := ReadingsRound(b)
		return cmp.Or(strings.Compare(roundA, roundB), cmp.Compare(numberA, numberB), strings.Compare(a, b))
	})
	return paths, nil
}

// ReadingsRound takes the name of a readings file apart: the stage and feature,
// "as-found-backlash", and the number, 0 where it has none.
func ReadingsRound(path string) (round string, number int) {
	name := strings.TrimSuffix(filepath.Base(path), ".csv")
	i := strings.LastIndexByte(name, '-')
	if n, err := strconv.Atoi(name[i+1:]); i > 0 && err == nil {
		return name[:i], n
	}
	return name, 0
}
