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
	Torn     string   // an unfinished last line of captures.csv; "" if none
	Readings []string // paths of the readings files, by stage and feature, in the order they were made
}

// Read reads a job folder without its lock and changes nothing in it, so
// it may be called while a writer runs. It fails as OpenFolder does.
func Read(dir string, check func(path string) error) (*Snapshot, error) {
	if err := CheckSheetFile(dir, check); err != nil {
		return nil, err
	}
	// What a writer adds meanwhile is a whole line more, or a piece that counts as
	// torn: the lines before it do not change.
	path := filepath.Join(dir, captureFile)
	file, err := os.Open(path)
	if err != nil {
		return nil, noCaptures(path, fmt.Errorf("open captures: %w", err))
	}
	captures, _, torn, err := readCaptures(path, file)
	if err = errors.Join(err, file.Close()); err != nil {
		return nil, err
	}
	readings, err := listReadings(filepath.Join(dir, readingsDir))
	if err != nil {
		return nil, err
	}
	return &Snapshot{Dir: dir, Captures: captures, Torn: string(torn), Readings: readings}, nil
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
