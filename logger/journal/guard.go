package journal

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
)

// A TakenError says that captures.csv was replaced, cut, moved or deleted while it
// was open: what is written to it would be lost. Nothing is stored after it.
type TakenError struct {
	Path   string
	Reason string
	Stored int    // captures that had been stored before
	Kept   string // the file they were written to again; "": none could be
}

func (e *TakenError) Error() string {
	return fmt.Sprintf("%s: %s while it was being written to; nothing more is stored", e.Path, e.Reason)
}

// guard compares the open journal with what stands under its name, and with the
// length it must have. Another program's editor, a program that keeps folders
// alike and a clean-up all leave this program with a file that nobody will find.
func (f *Folder) guard(size int64) error {
	path := f.path()
	info, err := os.Stat(path)
	reason := ""
	switch {
	case errors.Is(err, fs.ErrNotExist):
		reason = "the file or its folder was deleted or moved"
	case err != nil:
		return storeError("look at", path, err)
	case !os.SameFile(info, f.found):
		reason = "the file was replaced by another"
	case info.Size() != size:
		reason = fmt.Sprintf("another program changed the length of the file from %d to %d bytes", size, info.Size())
	default:
		return nil
	}
	f.broken = &TakenError{Path: path, Reason: reason, Stored: len(f.captures), Kept: f.keepCaptures()}
	return f.broken
}

// rescuedSuffix, with a number, ends the name of the captures of a run whose
// captures.csv was taken away.
const rescuedSuffix = ".rescued-"

// keepCaptures writes what is known once more, beside captures.csv or, where its
// folder is gone, beside that. It has its check values and no chain: it is for
// reading, not for going on.
func (f *Folder) keepCaptures() string {
	data := []byte(oldHeader + lineEnd)
	for _, c := range f.captures {
		from := len(data)
		data = sealLine(appendCells(data, c, oldCells), from)
	}
	for _, beside := range []string{f.path(), filepath.Clean(f.dir) + "-" + captureFile} {
		if kept := FreeName(beside + rescuedSuffix); replaceFile(kept, data) == nil {
			return kept
		}
	}
	return ""
}

// FreeName adds the first number that gives a name no file has.
func FreeName(prefix string) string {
	for n := 1; ; n++ {
		name := prefix + strconv.Itoa(n)
		if _, err := os.Lstat(name); err != nil {
			return name
		}
	}
}
