package journal

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

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

	// The user's mask takes away from these.
	folderMode = 0o777
	fileMode   = 0o666
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
	dir    string
	torn   string
	lock   *flock.Flock
	sheet  []byte    // job.toml as it was when the folder was opened
	opened time.Time // the wall clock of this run: see clock

	mu     sync.Mutex
	ledger // of the stored lines
	file   journalFile
	found  os.FileInfo // of file, to know it again
	size   int64       // of the sound, synced part of captures.csv
	by     string      // who enters what a person enters; "" unknown
	begun  bool        // what a run begins with has been stored
	writer *ReadingsWriter
	line   []byte
	broken error // a failed write that could not be taken back
	unsaid error // what must not fail an Append whose line is stored
}

// isFile says whether a path names something other than a folder.
func isFile(path string) bool {
	info, err := os.Stat(path)
	return err == nil && !info.IsDir()
}

// Open opens an existing job folder for writing. check is handed its sheet before
// anything else is looked at.
// A torn last line of captures.csv, left by a power loss, is moved to
// captures.csv.torn and given by Torn. Open fails with ErrNotJobFolder
// when dir is none, with the error of check, with ErrFolderInUse while another
// writer holds the folder, and with a *DamageError when captures.csv does not
// agree with its check values.
func Open(dir string, check CheckSheet) (*Folder, error) {
	sheet, err := SheetOf(dir, check)
	if err != nil {
		return nil, err
	}
	lock, err := lockFolder(dir)
	if err != nil {
		return nil, err
	}
	f := &Folder{dir: dir, lock: lock, sheet: sheet, opened: time.Now()}
	if err := f.openJournal(); err != nil {
		return nil, errors.Join(err, lock.Unlock())
	}
	sweep(dir, f.opened)
	return f, nil
}

// lockFolder keeps other writers out until the lock is given back.
func lockFolder(dir string) (*flock.Flock, error) {
	lock := flock.New(filepath.Join(dir, lockFile), flock.SetPermissions(fileMode))
	held, err := lock.TryLock()
	if err != nil {
		return nil, storeError("lock", dir, err)
	}
	if !held {
		return nil, fmt.Errorf("%s: %w", dir, ErrFolderInUse)
	}
	return lock, nil
}

// A CheckSheet says what is wrong with the text of a job.toml, whose path is for errors.
type CheckSheet func(path string, text []byte) error

// SheetOf reads the job.toml of a folder. It fails where dir is no job folder, and with
// what check finds wrong.
func SheetOf(dir string, check CheckSheet) ([]byte, error) {
	info, err := os.Stat(dir)
	if err != nil {
		return nil, fmt.Errorf("open job folder: %w", err)
	}
	if !info.IsDir() {
		return nil, fmt.Errorf("%s: %w: it is a file", dir, ErrNotJobFolder)
	}
	name := filepath.Join(dir, SheetFile)
	text, err := readPlain(name, mostSheet)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, fmt.Errorf("%s: %w: it has no %s", dir, ErrNotJobFolder, SheetFile)
	case err != nil:
		return nil, storeError("read", name, err)
	}
	return text, check(name, text)
}

// openJournal reads captures.csv and leaves it open at the end of its sound part.
// It is not made where it is missing: an empty journal in the place of a lost one
// would look like a job with nothing measured.
func (f *Folder) openJournal() error {
	path := f.path()
	err := plainFile(path, mostCaptures)
	var file *os.File
	if err == nil {
		file, err = os.OpenFile(path, os.O_RDWR, 0)
	}
	if err != nil {
		return noCaptures(path, storeError("write", path, err))
	}
	if err = f.readJournal(path, file); err != nil {
		return errors.Join(err, file.Close())
	}
	f.file = file
	return nil
}

func (f *Folder) readJournal(path string, file *os.File) (err error) {
	if taken, err := holdFile(file); err != nil || taken {
		return fmt.Errorf("%s: %w", f.dir, cmp.Or(err, ErrFolderInUse))
	}
	if f.found, err = file.Stat(); err != nil {
		return storeError("look at", path, err)
	}
	last, err := digestOf(f.dir)
	if err != nil {
		return err
	}
	l, sound, torn, err := readCaptures(path, file, last)
	if err == nil && torn != nil {
		err = f.setAside(path, file, sound, torn)
	}
	f.ledger, f.size = *l, sound
	return err
}

func (f *Folder) path() string { return filepath.Join(f.dir, captureFile) }

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
	c.Time, c.From = f.clock(c.Time), f.place()
	note := c.NoteText()
	for _, cell := range cellsOf(&c, &note) {
		if text, ok := cell.(*string); ok {
			*text = oneLine(*text)
		}
	}
	c.ReadNote(note) // what is in memory is what will be read back
	return c, f.write(c)
}

// write stores lines, in front of the first of a run what a run begins with. They
// go out in one write: what a crash leaves is whole lines and a piece of the last.
// f.mu is held.
func (f *Folder) write(lines ...record.Capture) error {
	if !f.begun {
		first, err := f.beginning()
		if err != nil {
			return err
		}
		lines = append(first, lines...)
	}
	after := f.ledger
	f.line = f.line[:0]
	for _, c := range lines {
		f.line = after.append(f.line, c)
	}
	if len(f.line) > longestLine {
		return errors.New("store capture: it is longer than 1 MiB")
	}
	if err := f.writeLine(); err != nil {
		return err
	}
	f.ledger, f.begun = after, true
	// Not before the line is found on the disk: a digest ahead of it would call it damaged.
	if err := f.guard(f.size); err != nil {
		return err
	}
	if err := f.writeDigest(f.whole()); err != nil && f.unsaid == nil {
		f.unsaid = err
	}
	return nil
}

// clock is t by the clock on the wall as it was when this run began: a clock that
// is set meanwhile moves nothing that was measured against what was measured
// before it.
func (f *Folder) clock(t time.Time) time.Time {
	return zoned(f.opened.Add(t.Sub(f.opened)).In(t.Location()))
}

// writeLine puts f.line at the end of the journal and syncs it, or takes it
// back. A journal that cannot be taken back is not written to any more: what
// stands in it is judged when the folder is opened again.
func (f *Folder) writeLine() error {
	if err := f.guard(f.size); err != nil {
		return err
	}
	// At f.size, not at the end: what a failed write before has left is overwritten.
	_, err := f.file.WriteAt(f.line, f.size)
	if err == nil {
		err = f.file.Sync()
	}
	if err == nil {
		f.size += int64(len(f.line))
		return nil
	}
	failed := storeError("store capture in", f.path(), err)
	if back := errors.Join(f.file.Truncate(f.size), f.file.Sync()); back != nil {
		f.broken = fmt.Errorf("%w; the folder must be opened again", failed)
	}
	return failed
}

// Digest is that of the lines that are stored.
func (f *Folder) Digest() Digest {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.whole()
}

// Close releases the folder. It fails where captures.csv was taken away since the
// last line, so that no run ends well whose captures nobody will find. It is safe
// to call twice.
func (f *Folder) Close() error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.file == nil {
		return nil
	}
	err := f.unsaid
	if f.broken == nil {
		err = errors.Join(err, f.guard(f.size))
	}
	err = errors.Join(err, f.file.Close(), f.lock.Unlock())
	f.file = nil
	return err
}
