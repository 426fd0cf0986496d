package logger

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
)

// A Snapshot is a job folder as a reader sees it at one moment.
type Snapshot struct {
	Dir      string
	Sheet    Sheet
	Captures []Capture
	Torn     string   // an unfinished last line of captures.csv; "" if none
	Readings []string // paths of the readings files, in order of name
}

// ReadFolder reads a job folder without its lock and changes nothing in it, so
// it may be called while a writer runs. It fails as OpenFolder does.
func ReadFolder(dir string) (*Snapshot, error) {
	sheet, err := folderSheet(dir)
	if err != nil {
		return nil, err
	}
	path := filepath.Join(dir, captureFile)
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, &DamageError{Path: path, Reason: "the file is missing"}
	}
	if err != nil {
		return nil, fmt.Errorf("open captures: %w", err)
	}
	captures, _, torn, err := readCaptures(path, file)
	if err = errors.Join(err, file.Close()); err != nil {
		return nil, err
	}
	readings, err := filepath.Glob(filepath.Join(dir, readingsDir, "*.csv"))
	if err != nil {
		return nil, fmt.Errorf("list readings: %w", err)
	}
	slices.Sort(readings)
	return &Snapshot{Dir: dir, Sheet: sheet, Captures: captures, Torn: string(torn), Readings: readings}, nil
}
