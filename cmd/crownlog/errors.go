package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"syscall"

	"github.com/alecthomas/kong"

	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/journal"
	"crownlog/logger/sheet"
	"crownlog/logger/words"
)

// The exit codes.
const (
	exitOK      = 0
	exitOutside = 1 // measured and outside, not measured to the end, or could not be measured
	exitUsage   = 2 // wrong command line or a bad input file
	exitDevice  = 3 // gauge or port trouble
	exitRecord  = 4 // the record is damaged, or it or the results cannot be written
)

// errOutside ends a verb whose results are printed and are not good news.
var errOutside = errors.New("outside, not finished or not measurable")

// outsideIf is errOutside where the news are bad.
func outsideIf(bad bool) error {
	if bad {
		return errOutside
	}
	return nil
}

// A hinted error carries what to do about it.
type hinted struct {
	err  error
	code int
	hint string
}

func (h *hinted) Error() string { return h.err.Error() }
func (h *hinted) Unwrap() error { return h.err }

// usagef returns an error of the command line or of an input file, with what to
// do about it; hint may be empty.
func usagef(hint, format string, args ...any) error {
	return &hinted{err: fmt.Errorf(format, args...), code: exitUsage, hint: hint}
}

// devicef returns an error of a gauge or port, with what to do about it.
func devicef(hint, format string, args ...any) error {
	return &hinted{err: fmt.Errorf(format, args...), code: exitDevice, hint: hint}
}

// lookUp returns the exit code of err, which was not joined of several, and what
// to do about it; "" where nothing can be said, or the error brings that along. What
// is not known is an input that cannot be used.
func lookUp(err error) (code int, hint string) {
	switch {
	case err == nil, errors.Is(err, context.Canceled): // by the user, who knows
		return exitOK, ""
	case errors.Is(err, errOutside):
		return exitOutside, ""
	}
	if h, ok := errors.AsType[*hinted](err); ok {
		return h.code, h.hint
	}
	for e := err; e != nil; e = errors.Unwrap(e) {
		switch e := e.(type) {
		case *logger.LineError:
			if e.Over {
				return exitUsage, "look which line is too many, and give them all with --again if a place has the wrong value"
			}
			return exitUsage, count(e.Stored, "value") + " stored; mend the line and go on from it, or give all of them with --again"
		case *kong.ParseError:
			return exitUsage, "see crownlog --help"
		case *device.PortError:
			return exitDevice, portHint(e)
		case *journal.DamageError:
			return exitRecord, damageHint(e)
		case *journal.TakenError:
			return exitRecord, takenHint(e)
		case *journal.AttachmentError:
			return exitRecord, "put the original back under that name, or take the note back with job undo"
		case *journal.StoreError:
			if isDir(e.Path) && e.What == "write" { // Windows calls that a denied access
				return exitRecord, fileHint(fs.ErrExist)
			}
			return exitRecord, fileHint(err)
		}
	}
	if journal.DiskFull(err) || errors.Is(err, syscall.EROFS) || errors.Is(err, syscall.EIO) || errors.Is(err, syscall.EFBIG) {
		return exitRecord, fileHint(err) // not kept, whatever was to be read
	}
	return exitUsage, fileHint(err)
}

// fileHint says what to do about a file or folder that cannot be used. Windows denies
// access to a file that a spreadsheet has open with the same error as to one that
// this user may not change.
func fileHint(err error) string {
	switch {
	case journal.DiskFull(err):
		return "the disk is full: what was stored before is safe, free some space and go on"
	case errors.Is(err, journal.ErrNotJobFolder):
		return "crownlog job new makes one"
	case errors.Is(err, journal.ErrFolderInUse):
		return "close the crownlog that is writing to it"
	case errors.Is(err, sheet.ErrNewerSchema):
		return "open it with the crownlog that wrote it, or a newer one"
	case errors.Is(err, fs.ErrNotExist):
		return "check the path"
	case errors.Is(err, fs.ErrExist):
		return "name a new file, or move what has that name"
	case errors.Is(err, fs.ErrPermission), heldOpen(err):
		return "this user may not read or write there, or a program such as a spreadsheet has it open"
	}
	return ""
}

// heldOpen recognises a file that another program, such as a spreadsheet, keeps
// for itself. Only Windows lets it.
func heldOpen(err error) bool { return isWindows(err, errorSharingViolation, errorLockViolation) }

// readerGone recognises a write into a pipe whose other end was closed.
func readerGone(err error) bool {
	return errors.Is(err, syscall.EPIPE) || isWindows(err, errorBrokenPipe, errorNoData)
}

// Source: Windows system error codes.
const (
	errorSharingViolation = syscall.Errno(32)
	errorLockViolation    = syscall.Errno(33)
	errorBrokenPipe       = syscall.Errno(109)
	errorNoData           = syscall.Errno(232)
)

// isWindows reports whether err is one of the codes on Windows; elsewhere they mean
// something else.
func isWindows(err error, codes ...syscall.Errno) bool {
	return runtime.GOOS == "windows" && slices.ContainsFunc(codes, func(code syscall.Errno) bool { return errors.Is(err, code) })
}

// parts takes errors that were joined apart, so that none hides another and each
// is told with what to do about it.
func parts(err error) (all []error) {
	if err == nil {
		return nil
	}
	many, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return []error{err}
	}
	for _, e := range many.Unwrap() {
		all = append(all, parts(e)...)
	}
	return all
}

// damageHint says what to do about a damaged journal.
func damageHint(e *journal.DamageError) string {
	dir, name := filepath.Split(e.Path)
	switch {
	case name != "captures.csv" && name != "captures.digest":
		return "nothing was changed; the captures stand without it"
	case errors.Is(e, fs.ErrNotExist):
		return "put it back from a copy of the folder"
	}
	return "nothing was changed; crownlog job mend " + filepath.Clean(dir) + " shows what is sound and can go on with it"
}

// takenHint says what is safe of a journal that was taken away.
func takenHint(e *journal.TakenError) string {
	if e.Kept == "" {
		return fmt.Sprintf("look for the folder: %s stored before, in its captures.csv", count(e.Stored, "value"))
	}
	return fmt.Sprintf("%s stored before, safe in %s; close what changed the folder, put captures.csv back, and measure again", count(e.Stored, "value"), e.Kept)
}

// isDir reports whether a folder has that name.
func isDir(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// portHints say what to do about a port that does not open, where that is not to
// look which there are.
var portHints = map[device.PortReason]string{
	device.PortForeign:    "start again, with the port that the gauge has now",
	device.PortBusy:       "close the other program that has it open",
	device.PortDenied:     "run as a user who may open serial ports; on Linux install the rules in udev/",
	device.PortIsDir:      "name the port inside it, such as /dev/ttyUSB0",
	device.PortUnreached:  "check the address and that the bridge is on",
	device.PortBadSetting: "check baud, data bits, parity and stop bits in the gauge profile",
}

func portHint(e *device.PortError) string {
	return cmp.Or(portHints[e.Reason], "check the cable; crownlog ports lists what is there") +
		words.Given(e.Group != "", ", or join the group: sudo usermod -aG "+e.Group+" $USER, then log in again")
}
