package main

import (
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

	"crownlog/cmd/crownlog/live"
	"crownlog/device"
	"crownlog/logger"
	"crownlog/logger/journal"
	"crownlog/logger/sheet"
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

// knownErrors gives each error that brings no hint along its exit code and what to
// do about it; the first row that matches counts. What matches none is an input
// that cannot be used.
var knownErrors = []struct {
	code  int
	match func(error) (hint string, ok bool)
}{
	{exitOK, when("", readerGone)}, // enough was read, as with head
	{exitRecord, as(func(*resultsError) string { return "what was recorded is safe" })},
	{exitOK, is("", context.Canceled)}, // the user stopped it, and knows
	{exitOutside, is("", errOutside)},
	{exitUsage, as(lineHint)},
	{exitUsage, as(func(*kong.ParseError) string { return "see crownlog --help" })},
	{exitDevice, as(func(e *device.PortError) string { return portHint(e, runtime.GOOS) })},
	{exitDevice, is("", live.ErrGaugeLost)},
	{exitRecord, when("the disk is full: what was stored before is safe, free some space and go on", journal.DiskFull)},
	{exitRecord, as(damageHint)},
	{exitRecord, as(takenHint)},
	{exitRecord, as(func(*journal.AttachmentError) string {
		return "put the original back under that name, or take the note back with job undo"
	})},
	{exitRecord, as(func(e *journal.StoreError) string { return storeHint(e, runtime.GOOS) })},
	{exitUsage, when("close the program that has it open, such as a spreadsheet", heldOpen)},
	{exitRecord, is("", syscall.EROFS, syscall.EIO, syscall.EFBIG)}, // not kept, whatever was to be read
	{exitUsage, is("open it with the crownlog that wrote it, or a newer one", sheet.ErrNewerSchema)},
	{exitUsage, is("check the path", fs.ErrNotExist)},
	{exitUsage, is("this user may not open it", fs.ErrPermission)},
}

// as matches the errors of one type.
func as[E error](hint func(E) string) func(error) (string, bool) {
	return func(err error) (string, bool) {
		e, ok := errors.AsType[E](err)
		if !ok {
			return "", false
		}
		return hint(e), true
	}
}

// is matches any of the errors named.
func is(hint string, targets ...error) func(error) (string, bool) {
	return func(err error) (string, bool) {
		return hint, slices.ContainsFunc(targets, func(t error) bool { return errors.Is(err, t) })
	}
}

// when matches the errors that say so.
func when(hint string, says func(error) bool) func(error) (string, bool) {
	return func(err error) (string, bool) { return hint, says(err) }
}

// lookUp returns the exit code of err, which was not joined of several, and what
// to do about it; "" where nothing can be said.
func lookUp(err error) (code int, hint string) {
	if err == nil {
		return exitOK, ""
	}
	if h, ok := errors.AsType[*hinted](err); ok {
		return h.code, h.hint
	}
	for _, known := range knownErrors {
		if hint, ok := known.match(err); ok {
			return known.code, hint
		}
	}
	return exitUsage, ""
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

// lineHint says how to go on after piped values that ended too early, or too late.
func lineHint(e *logger.LineError) string {
	if e.Over {
		return "look which line is too many, and give them all with --again if a place has the wrong value"
	}
	return count(e.Stored, "value") + " stored; mend the line and go on from it, or give all of them with --again"
}

// damageHint says what to do about a damaged journal.
func damageHint(e *journal.DamageError) string {
	switch dir, name := filepath.Split(e.Path); {
	case name != "captures.csv" && name != "captures.digest":
		return "nothing was changed; the captures stand without it"
	case errors.Is(e, fs.ErrNotExist):
		return "put it back from a copy of the folder"
	default:
		return "nothing was changed; crownlog job mend " + filepath.Clean(dir) + " shows what is sound and can go on with it"
	}
}

// takenHint says what is safe of a journal that was taken away.
func takenHint(e *journal.TakenError) string {
	if e.Kept == "" {
		return fmt.Sprintf("look for the folder: %s stored before, in its captures.csv", count(e.Stored, "value"))
	}
	return fmt.Sprintf("%s stored before, safe in %s; close what changed the folder, put captures.csv back, and measure again", count(e.Stored, "value"), e.Kept)
}

// storeHint says what to do about a record that cannot be written. Windows denies
// access to a file that a spreadsheet has open with the same error as to one that
// this user may not change.
func storeHint(e *journal.StoreError, goos string) string {
	safe := ""
	if filepath.Base(e.Path) == "record.csv" { // made from what is on the disk
		safe = "; all captures are safe, and crownlog export writes it"
	}
	switch {
	case errors.Is(e, fs.ErrNotExist):
		return "check the path"
	case errors.Is(e, fs.ErrExist), isDir(e.Path): // Windows calls that a denied access
		return "a folder of that name is in the way: move it" + safe
	case heldOpen(e), errors.Is(e, fs.ErrPermission) && goos == "windows":
		return "close the program that has it open, such as a spreadsheet; else this user may not write there" + safe
	case errors.Is(e, fs.ErrPermission):
		return "this user may not write there" + safe
	}
	return ""
}

// isDir reports whether a folder has that name.
func isDir(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// portHints say what to do about a port that does not open.
var portHints = map[device.PortReason]string{
	device.PortMissing:    "check the cable; crownlog ports lists what is there",
	device.PortGone:       "check the cable; crownlog ports lists what is there",
	device.PortSession:    "name the gauge's own port; crownlog ports lists what is there",
	device.PortForeign:    "start again, with the port that the gauge has now",
	device.PortBusy:       "close the other program that has it open",
	device.PortDenied:     "run as a user who may open serial ports",
	device.PortIsDir:      "name the port inside it, such as /dev/ttyUSB0",
	device.PortNotSerial:  "crownlog ports lists the serial ports",
	device.PortUnreached:  "check the address and that the bridge is on",
	device.PortBadSetting: "check baud, data bits, parity and stop bits in the gauge profile",
}

// portHint is that of e; on Linux the right to open a port comes with the rules.
func portHint(e *device.PortError, goos string) string {
	switch {
	case e.Reason != device.PortDenied || goos != "linux":
		return portHints[e.Reason]
	case e.Group == "":
		return "install the rules in udev/"
	}
	return "install the rules in udev/, or join the group: sudo usermod -aG " + e.Group + " $USER, then log in again"
}
