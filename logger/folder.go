package logger

import (
	"errors"

	"crownlog/device"
)

var errPending = errors.New("pending")

// A Folder is a job folder open for writing; it holds the folder's lock until
// Close. It implements Store.
type Folder struct{}

// CreateFolder makes dir a job folder with the given job sheet and opens it.
// dir may exist when it is empty.
func CreateFolder(dir string, sheetTOML []byte) (*Folder, error) { return nil, errPending }

// OpenFolder opens an existing job folder for writing. It fails with
// ErrFolderInUse while another writer holds it, with ErrNotJobFolder when dir
// is none, and with a *DamageError when the journal is damaged.
func OpenFolder(dir string) (*Folder, error) { return nil, errPending }

// Dir is the folder's path as given.
func (f *Folder) Dir() string { return "" }

// Sheet is the job sheet as it was when the folder was opened.
func (f *Folder) Sheet() Sheet { return Sheet{} }

// Append stores c under the next ID; it returns after the line is on disk.
func (f *Folder) Append(c Capture) (Capture, error) { return c, errPending }

// Captures returns every capture in order, superseded ones too.
func (f *Folder) Captures() []Capture { return nil }

// Torn reports a torn last line that was set aside on opening; "" if none.
func (f *Folder) Torn() string { return "" }

// Readings starts the next readings file of a stage and feature.
func (f *Folder) Readings(stage, feature string) (*ReadingsWriter, error) { return nil, errPending }

// WriteRecord rewrites record.csv atomically and returns its path.
func (f *Folder) WriteRecord() (string, error) { return "", errPending }

// Attach copies the file at path into the folder's attachments and records it
// with its SHA-256.
func (f *Folder) Attach(stage, path, note string) (Capture, error) { return Capture{}, errPending }

// Close releases the folder.
func (f *Folder) Close() error { return errPending }

// A Snapshot is a job folder as a reader sees it at one moment.
type Snapshot struct {
	Dir      string
	Sheet    Sheet
	Captures []Capture
	Torn     string // an unfinished last line, "" if none
	Readings []string
}

// ReadFolder reads a job folder without its lock, also while a writer runs.
func ReadFolder(dir string) (*Snapshot, error) { return nil, errPending }

// ErrNotJobFolder is returned for a directory without a job.toml.
var ErrNotJobFolder = errors.New("not a job folder")

// ErrFolderInUse is returned when another program holds the folder.
var ErrFolderInUse = errors.New("job folder is in use")

// ErrDiskFull marks a write that failed for want of space.
var ErrDiskFull = errors.New("disk full")

// A DamageError says where a record does not agree with its check value.
type DamageError struct {
	Path   string
	Line   int
	Reason string
}

func (e *DamageError) Error() string { return e.Path }

// A ReadingsWriter keeps the raw readings of one round. It implements
// ReadingSink.
type ReadingsWriter struct{}

// Record writes one gauge event.
func (w *ReadingsWriter) Record(ev device.Event) error { return errPending }

// Path is the file written to.
func (w *ReadingsWriter) Path() string { return "" }

// Close syncs and closes the file.
func (w *ReadingsWriter) Close() error { return errPending }

// A ReadingSink keeps the raw stream of a round: readings, garbled frames and
// gaps.
type ReadingSink interface {
	Record(ev device.Event) error
}
