// Package journal keeps a job folder on the disk so that it survives a pulled
// plug, a full disk and another program's editor:
//
//	job.toml      the sheet; this package only hands its path on
//	sheets/       each job.toml that something was recorded under, by its hash
//	captures.csv  one line a capture, only ever added to, each with a check value
//	captures.digest         which line is the last: job, first and last value, lines
//	captures.csv.torn       last lines torn by a power loss, set aside
//	captures.csv.damaged-1  a damaged journal as it was, set aside on request
//	captures.csv.rescued-1  the captures of a run whose captures.csv was taken away
//	readings/     the raw stream of each round, a file a round, never written again:
//	              <stage>-<feature>-<n>.csv
//	attachments/  copies of attached files, whose SHA-256 stands in captures.csv
//	record.csv    the vehicle's-file export; derived, replaced as a whole
//	.lock         held by the one writer; readers need none
//
// What it promises: when Append returns, the capture is on the disk. When Append
// fails, nothing of it is. A crash leaves at most a piece of the last line, which
// the next writer sets aside in captures.csv.torn before it goes on. A line that
// does not agree with its check value is damage: nothing of such a file is used
// until SetAside has kept it under another name and gone on with its sound lines.
//
// What a crash may do. A capture that was announced is there after any crash,
// whole and once. Raw readings are written at once and synced every 100 ms, so a
// power loss can take the last tenth of a second of them. Derived files are
// replaced by renaming: a reader finds the old one or the new one.
//
// What is noticed. Each line of captures.csv and of a readings file ends with
// the CRC-32 of its cells, and captures are numbered without a gap. Each line of
// captures.csv follows from all lines before it by SHA-256, and captures.digest
// says which is the last: a line that was changed, removed, doubled, moved or taken
// from another job is a *DamageError with its line. The chain holds the hash of
// every readings file, attached file and job.toml. Whoever writes all of it anew
// makes a sound job: that only a digest kept elsewhere shows. In what SetAside
// leaves, a line of quality "lost" stands in for each that is gone, and for one
// that may have been an adjuster move is a move.
package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// ErrNotJobFolder is returned for a directory without a job sheet.
var ErrNotJobFolder = errors.New("not a job folder")

// ErrFolderInUse is returned when another program holds the folder's lock.
var ErrFolderInUse = errors.New("job folder is in use by another program")

// ErrDiskFull marks a write that failed for want of space.
var ErrDiskFull = errors.New("no space left on the disk")

// A DamageError says where a stored record disagrees with its check value.
// Nothing of a damaged journal is used.
type DamageError struct {
	Path   string
	Line   int // 1-based; 0: the file as a whole
	Reason string
	Err    error // fs.ErrNotExist: there is no such file; nil else
}

func (e *DamageError) Unwrap() error { return e.Err }

func (e *DamageError) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s: record damaged: %s", e.Path, e.Reason)
	}
	return fmt.Sprintf("%s:%d: record damaged: %s", e.Path, e.Line, e.Reason)
}

// A StoreError is a part of the record that cannot be written. errors.Is finds
// ErrDiskFull in it where that is the cause.
type StoreError struct {
	What string // "write", "sync", "store capture in"
	Path string
	Err  error
}

func (e *StoreError) Error() string { return e.What + " " + e.Path + ": " + e.Err.Error() }
func (e *StoreError) Unwrap() error { return e.Err }

// storeError names the file of a failed write and marks a full disk. The name
// of a file that stood in for it meanwhile is left out.
func storeError(what, path string, err error) error {
	if DiskFull(err) {
		return &StoreError{what, path, ErrDiskFull}
	}
	if named, ok := errors.AsType[*fs.PathError](err); ok {
		err = named.Err
	} else if renamed, ok := errors.AsType[*os.LinkError](err); ok {
		err = renamed.Err
	}
	return &StoreError{what, path, err}
}
