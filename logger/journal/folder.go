package journal

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"github.com/gofrs/flock"

	"crownlog/logger/record"
)

// The files of a job folder.
const (
	SheetFile   = "job.toml"
	captureFile = "captures.csv"
	lockFile    = ".lock"
	readingsDir = "readings"
	tornSuffix  = ".torn"
	folderMode  = 0o755
	fileMode    = 0o644
)

// A journalFile is an open file of a job folder.
type journalFile interface {
	io.Writer
	io.WriterAt
	Truncate(size int64) error
	Sync() error
	Close() error
}

// A Folder is a job folder open for writing; it holds the folder's lock until
// Close. It implements Store and may be read from several goroutines.
type Folder struct {
	dir  string
	torn string
	lock *flock.Flock

	mu       sync.Mutex
	file     journalFile
	size     int64 // of the sound, synced part of captures.csv
	captures []record.Capture
	line     []byte
	by       string // who enters what a person enters; "" unknown
	broken   error  // a failed write that could not be taken back
}

// Create makes dir a job folder with the given text as its job sheet,
// which the caller has found sound. dir may exist when it is empty.
func Create(dir string, sheetTOML []byte) error {
	if err := CanCreate(dir); err != nil {
		return err
	}
	return fillFolder(dir, sheetTOML)
}

// fillFolder makes the files of a new folder, or takes away again what it has
// made. Folders above dir that had to be made stay.
func fillFolder(dir string, sheetTOML []byte) (err error) {
	_, missing := os.Stat(dir)
	captures, readings := filepath.Join(dir, captureFile), filepath.Join(dir, readingsDir)
	defer func() {
		if err == nil {
			return
		}
		// Of a folder this takes an empty one only; the failure before is what matters.
		_, _ = os.Remove(captures), os.Remove(readings)
		if missing != nil {
			_ = os.Remove(dir)
		}
	}()
	if err := os.MkdirAll(readings, folderMode); err != nil {
		return storeError("create", dir, err)
	}
	if err := replaceFile(captures, []byte(captureHeader+lineEnd)); err != nil {
		return err
	}
	// The sheet comes last: a folder is a job folder once it stands there.
	return replaceFile(filepath.Join(dir, SheetFile), sheetTOML)
}

// CanCreate says why CreateFolder would refuse dir: it holds something already,
// or is no folder.
func CanCreate(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case isFile(dir): // Windows calls that a missing path
		return fmt.Errorf("create job folder: %s is a file", dir)
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return fmt.Errorf("create job folder: %w", err)
	}
	if slices.ContainsFunc(entries, func(e os.DirEntry) bool { return e.Name() == SheetFile }) {
		return fmt.Errorf("create job folder %s: there is a job in it already", dir)
	}
	if len(entries) > 0 {
		return fmt.Errorf("create job folder %s: directory is not empty", dir)
	}
	return nil
}

// isFile says whether a path names something other than a folder.
func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && !info.IsDir()
}

// Open opens an existing job folder for writing. check is handed the path
// of its sheet before anything else is looked at and says what is wrong with it.
// A torn last line of captures.csv, left by a power loss, is moved to
// captures.csv.torn and given by Torn. Open fails with ErrNotJobFolder
// when dir is none, with the error of check, with ErrFolderInUse while another
// writer holds the folder, and with a *DamageError when captures.csv does not
// agree with its check values.
func Open(dir string, check func(path string) error) (*Folder, error) {
	if err := CheckSheetFile(dir, check); err != nil {
		return nil, err
	}
	lock, err := lockFolder(dir)
	if err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, lock: lock}
	if err := f.openJournal(); err != nil {
		return nil, errors.Join(err, lock.Unlock())
	}
	return f, nil
}

// lockFolder keeps other writers out until the lock is given back.
func lockFolder(dir string) (*flock.Flock, error) {
	lock := flock.New(filepath.Join(dir, lockFile))
	held, err := lock.TryLock()
	if err != nil {
		return nil, storeError("lock", dir, err)
	}
	if !held {
		return nil, fmt.Errorf("%s: %w", dir, ErrFolderInUse)
	}
	return lock, nil
}

// CheckSheetFile says why dir is no job folder, or what check finds wrong with
// the sheet in it. A check that fails because there is no such file tells that
// dir is no job folder.
func CheckSheetFile(dir string, check func(path string) error) error {
	info, err := os.Stat(dir)
	if err != nil {
		return fmt.Errorf("open job folder: %w", err)
	}
	if !info.IsDir() {
		return fmt.Errorf("%s: %w: it is a file", dir, ErrNotJobFolder)
	}
	err = check(filepath.Join(dir, SheetFile))
	if errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s: %w: it has no %s", dir, ErrNotJobFolder, SheetFile)
	}
	return err
}

// openJournal reads captures.csv and leaves it open at the end of its sound part.
// It is not made where it is missing: an empty journal in the place of a lost one
// would look like a job with nothing measured.
func (f *Folder) openJournal() error {
	path := filepath.Join(f.dir, captureFile)
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return noCaptures(path, storeError("write", path, err))
	}
	captures, sound, torn, err := readCaptures(path, file)
	if err == nil && torn != nil {
		err = f.setAside(path, file, sound, torn)
	}
	if err != nil {
		return errors.Join(err, file.Close())
	}
	f.file, f.size, f.captures = file, sound, captures
	return nil
}

// noCaptures is why captures.csv cannot be opened; a missing one is damage.
func noCaptures(path string, err error) error {
	if errors.Is(err, fs.ErrNotExist) {
		return &DamageError{Path: path, Reason: "the file is missing"}
	}
	return err
}

// readCaptures reads a whole captures.csv.
func readCaptures(path string, r io.Reader) (captures []record.Capture, sound int64, torn []byte, err error) {
	cr := captureReader{}
	sound, torn, err = scanJournal(path, r, captureHeader, cr.line)
	if err == nil && sound == 0 { // a job folder is made with a whole header
		err = &DamageError{Path: path, Line: 1, Reason: "the file ends before its header does: its captures are gone"}
	}
	if err != nil {
		return nil, sound, nil, err
	}
	return cr.captures, sound, torn, nil
}

// setAside adds a torn tail to captures.csv.torn, and only when it is safe
// there cuts it off the journal.
func (f *Folder) setAside(path string, file journalFile, sound int64, torn []byte) error {
	if err := appendSynced(path+tornSuffix, append(torn, '\n')); err != nil {
		return err
	}
	if err := file.Truncate(sound); err != nil {
		return storeError("cut torn line off", path, err)
	}
	if err := file.Sync(); err != nil {
		return storeError("sync", path, err)
	}
	f.torn = string(torn)
	return nil
}

// Dir is the folder's path as given.
func (f *Folder) Dir() string { return f.dir }

// Torn is the torn last line that was set aside on opening; "" if none.
func (f *Folder) Torn() string { return f.torn }

// Sign has what a person enters from now on say who that is; "" is nobody.
func (f *Folder) Sign(name string) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.by = strings.TrimSpace(strings.ReplaceAll(oneLine(name), ";", ",")) // a semicolon ends it in the note
}

// Captures returns every capture in order, superseded ones too. The caller
// does not change them.
func (f *Folder) Captures() []record.Capture {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.captures[:len(f.captures):len(f.captures)]
}

// Append stores c under the next ID and returns it as stored: IDs count up
// from 1 without a gap, and line breaks in texts become spaces. It returns
// after the line is on disk. When it fails, nothing of c is kept and the
// captures before it stand as they were.
func (f *Folder) Append(c record.Capture) (record.Capture, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.broken != nil {
		return c, f.broken
	}
	if f.file == nil {
		return c, fmt.Errorf("store capture: %s is closed", f.dir)
	}
	if err := checkCapture(c, len(f.captures)); err != nil {
		return c, err
	}
	if c.By == "" && c.Entered() {
		c.By = f.by
	}
	c.ID = len(f.captures) + 1
	c.Time = c.Time.UTC().Round(0)
	note := c.NoteText()
	for _, cell := range cellsOf(&c, &note) {
		if text, ok := cell.(*string); ok {
			*text = oneLine(*text)
		}
	}
	c.ReadNote(note) // what is in memory is what will be read back
	// One line, one write: what a crash leaves of it is a piece of the last line.
	f.line = appendCapture(f.line[:0], c)
	if err := f.writeLine(); err != nil {
		return c, err
	}
	f.captures = append(f.captures, c)
	return c, nil
}

// writeLine puts f.line at the end of the journal and syncs it, or takes it
// back. A journal that cannot be taken back is not written to any more: what
// stands in it is judged when the folder is opened again.
func (f *Folder) writeLine() error {
	path := filepath.Join(f.dir, captureFile)
	// At f.size, not at the end: what a failed write before has left is overwritten.
	_, err := f.file.WriteAt(f.line, f.size)
	if err == nil {
		err = f.file.Sync()
	}
	if err == nil {
		f.size += int64(len(f.line))
		return nil
	}
	failed := storeError("store capture in", path, err)
	if back := errors.Join(f.file.Truncate(f.size), f.file.Sync()); back != nil {
		f.broken = fmt.Errorf("%w; the folder must be opened again", failed)
	}
	return failed
}

// Close releases the folder. It is safe to call twice.
func (f *Folder) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.file == nil {
		return nil
	}
	err := errors.Join(f.file.Close(), f.lock.Unlock())
	f.file = nil
	return err
}
