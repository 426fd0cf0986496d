package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"runtime"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"

	"crownlog/device"
	"crownlog/logger"
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

// errGaugeLost ends a round whose gauge never came back.
var errGaugeLost = errors.New("gauge lost")

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

// exitCode maps an error to the exit code.
func exitCode(err error) int {
	var h *hinted
	var port *device.PortError
	var damage *logger.DamageError
	var store *logger.StoreError
	var attached *logger.AttachmentError
	var lost *resultsError
	switch {
	case errors.As(err, &lost):
		return exitRecord
	case err == nil || errors.Is(err, context.Canceled):
		return exitOK
	case errors.Is(err, errOutside):
		return exitOutside
	case errors.As(err, &h):
		return h.code
	case errors.As(err, &port), errors.Is(err, errGaugeLost):
		return exitDevice
	case errors.As(err, &damage), errors.As(err, &store), errors.As(err, &attached), cannotWrite(err):
		return exitRecord
	default:
		return exitUsage
	}
}

// cannotWrite tells a record that cannot be kept from an input that cannot be
// read.
func cannotWrite(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EROFS) || errors.Is(err, syscall.EIO) ||
		errors.Is(err, syscall.EFBIG)
}

// explain returns err, one line a mistake, with what to do about it, or "" where nothing
// is left to say.
func explain(err error) string {
	if err == nil || errors.Is(err, errOutside) || errors.Is(err, context.Canceled) {
		return ""
	}
	line := strings.TrimSpace(err.Error())
	if hint := hintFor(err); hint != "" {
		line += "; " + hint
	}
	return line
}

// hintFor says what to do about err.
func hintFor(err error) string {
	var h *hinted
	var parse *kong.ParseError
	var port *device.PortError
	var damage *logger.DamageError
	var imported *logger.ImportError
	var store *logger.StoreError
	var attached *logger.AttachmentError
	var lost *resultsError
	switch {
	case errors.As(err, &h):
		return h.hint
	case errors.As(err, &lost):
		return "what was recorded is safe"
	case errors.As(err, &imported):
		return importHint(imported.Wants)
	case errors.As(err, &parse):
		return "see crownlog --help"
	case errors.As(err, &port):
		return portHint(port, runtime.GOOS)
	case errors.Is(err, logger.ErrDiskFull), errors.Is(err, syscall.ENOSPC):
		return "the disk is full: what was stored before is safe, free some space and go on"
	case errors.As(err, &damage):
		return damageHint(damage)
	case errors.As(err, &attached):
		return "put the original back under that name, or take the note back with job undo"
	case errors.Is(err, logger.ErrNewerSchema):
		return "open it with the crownlog that wrote it, or a newer one"
	case errors.Is(err, fs.ErrNotExist):
		return "check the path"
	case errors.Is(err, fs.ErrPermission) && errors.As(err, &store):
		return "this user may not write there"
	case errors.Is(err, fs.ErrPermission):
		return "this user may not open it"
	}
	return ""
}

// importHint names the flag that lets a file be read.
func importHint(w logger.Want) string {
	switch w {
	case logger.WantTime:
		return "name it with --time-column, or give the seconds between rows with --interval"
	case logger.WantValue:
		return "name it with --value-column"
	case logger.WantDecimalComma:
		return "give --decimal-comma where that is a decimal comma"
	}
	return ""
}

// damageHint says what to do about a damaged journal.
func damageHint(e *logger.DamageError) string {
	switch dir, name := filepath.Split(e.Path); {
	case name != "captures.csv":
		return "nothing was changed; the captures stand without it"
	case e.Line == 0:
		return "put it back from a copy of the folder"
	default:
		return "nothing was changed; crownlog job mend " + filepath.Clean(dir) + " shows what is sound and can go on with it"
	}
}

// portHint says what to do about a port that does not open.
func portHint(e *device.PortError, goos string) string {
	switch e.Reason {
	case device.PortMissing, device.PortGone:
		return "check the cable; crownlog ports lists what is there"
	case device.PortBusy:
		return "close the other program that has it open"
	case device.PortDenied:
		if goos == "linux" {
			if e.Group == "" {
				return "install the rules in udev/"
			}
			return "install the rules in udev/, or join the group: sudo usermod -aG " + e.Group + " $USER, then log in again"
		}
		return "run as a user who may open serial ports"
	case device.PortIsDir:
		return "name the port inside it, such as /dev/ttyUSB0"
	case device.PortNotSerial:
		return "crownlog ports lists the serial ports"
	case device.PortBadSetting:
		return "check baud, data bits, parity and stop bits in the gauge profile"
	}
	return ""
}
