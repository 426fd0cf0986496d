package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"syscall"
	"testing"

	"github.com/alecthomas/kong"
	"github.com/stretchr/testify/assert"

	"crownlog/device"
	"crownlog/logger/journal"
	"crownlog/logger/sheet"
)

func TestKnownErrors(t *testing.T) {
	denied := &fs.PathError{Op: "open", Path: "x", Err: syscall.EACCES}
	missing := &fs.PathError{Op: "open", Path: "x", Err: syscall.ENOENT}
	for _, c := range []struct {
		name string
		err  error
		want int
		hint string
	}{
		{"none", nil, 0, ""},
		{"interrupted", context.Canceled, 0, ""},
		{"outside", errOutside, 1, ""},
		{"outside, and the rest went well", errors.Join(errOutside, nil), 1, ""},
		{"usage", usagef("name one", "no such thing"), 2, "name one"},
		{"gauge", devicef("check the cable", "gone"), 3, "check the cable"},
		{"record to be mended", &hinted{err: errors.New("damaged"), code: exitRecord, hint: "set it aside"}, 4, "set it aside"},
		{"file missing", missing, 2, "check the path"},
		{"sheet with a mistake", errors.New("job.toml:3:1: unknown key"), 2, ""},
		{"command line", &kong.ParseError{}, 2, "see crownlog --help"},
		{"sheet of a later program", fmt.Errorf("job.toml: %w", sheet.ErrNewerSchema), 2, "open it with the crownlog that wrote it, or a newer one"},
		{"port", fmt.Errorf("gauge: %w", &device.PortError{Port: "x", Reason: device.PortIsDir}), 3, "name the port inside it, such as /dev/ttyUSB0"},
		{"record damaged", fmt.Errorf("job: %w", &journal.DamageError{Path: "axle/captures.csv", Line: 4}), 4, "nothing was changed; crownlog job mend axle shows what is sound and can go on with it"},
		{"record gone", &journal.DamageError{Path: "axle/captures.csv", Err: fs.ErrNotExist}, 4, "put it back from a copy of the folder"},
		{"record cut at its end", &journal.DamageError{Path: "axle/captures.csv"}, 4, "nothing was changed; crownlog job mend axle shows what is sound and can go on with it"},
		{"record taken away", &journal.TakenError{Stored: 4, Kept: "x"}, 4, "4 values stored before, safe in x; close what changed the folder, put captures.csv back, and measure again"},
		{"record gone for good", &journal.TakenError{Stored: 1}, 4, "look for the folder: 1 value stored before, in its captures.csv"},
		{"readings damaged", &journal.DamageError{Path: "axle/readings/x.csv", Line: 4}, 4, "nothing was changed; the captures stand without it"},
		{"folder in the way of the record", &journal.StoreError{What: "write", Path: "record.csv", Err: syscall.EEXIST}, 4, "name a new file, or move what has that name"},
		{"may not write the record", &journal.StoreError{What: "write", Path: "record.csv", Err: syscall.EACCES}, 4, "this user may not read or write there, or a program such as a spreadsheet has it open"},
		{"folder of the record gone", &journal.StoreError{What: "write", Path: "record.csv", Err: syscall.ENOENT}, 4, "check the path"},
		{"may not read an input", denied, 2, "this user may not read or write there, or a program such as a spreadsheet has it open"},
		{"attachment changed", &journal.AttachmentError{Path: "x", Problem: "is missing"}, 4, "put the original back under that name, or take the note back with job undo"},
		{"disk full", &fs.PathError{Op: "write", Path: "x", Err: noSpace}, 4, "the disk is full: what was stored before is safe, free some space and go on"},
		{"record on a full disk", &journal.StoreError{What: "write", Path: "record.csv", Err: journal.ErrDiskFull}, 4, "the disk is full: what was stored before is safe, free some space and go on"},
		{"disk may not be written", &fs.PathError{Op: "write", Path: "x", Err: syscall.EROFS}, 4, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			code, hint := lookUp(c.err)
			assert.Equal(t, c.want, code)
			assert.Equal(t, c.hint, hint)
		})
	}
}

func TestPortErrorsSayWhatToDo(t *testing.T) {
	for _, c := range []struct {
		err  device.PortError
		want string
	}{
		{device.PortError{Reason: device.PortMissing}, "check the cable; crownlog ports lists what is there"},
		{device.PortError{Reason: device.PortDenied}, "run as a user who may open serial ports; on Linux install the rules in udev/"},
		{device.PortError{Reason: device.PortDenied, Group: "uucp"}, "run as a user who may open serial ports; on Linux install the rules in udev/, or join the group: sudo usermod -aG uucp $USER, then log in again"},
		{device.PortError{Reason: device.PortBusy}, "close the other program that has it open"},
		{device.PortError{Reason: device.PortIsDir}, "name the port inside it, such as /dev/ttyUSB0"},
		{device.PortError{Reason: device.PortNotSerial}, "check the cable; crownlog ports lists what is there"},
		{device.PortError{Reason: device.PortBadSetting}, "check baud, data bits, parity and stop bits in the gauge profile"},
	} {
		assert.Equal(t, c.want, portHint(&c.err), "%s", c.err.Reason)
	}
}

// exitCode is that of an error by itself.
func exitCode(err error) int {
	code, _ := lookUp(err)
	return code
}

// Errors that came together are all told, and the worst makes the exit code.
func TestNoErrorHidesAnother(t *testing.T) {
	notWritten := &journal.StoreError{What: "write", Path: "record.csv", Err: syscall.EISDIR}
	for _, c := range []struct {
		name string
		err  error
		want int
		said string
	}{
		{"outside, and not recorded", errors.Join(errOutside, notWritten), 4, "crownlog: " + notWritten.Error() + "\n"},
		{"stopped, and not recorded", errors.Join(context.Canceled, notWritten), 4, "crownlog: " + notWritten.Error() + "\n"},
		{"outside, and the gauge is gone", errors.Join(errors.Join(errOutside, nil), devicef("check the cable", "gone")), 3, "crownlog: gone; check the cable\n"},
		{"each with its hint", errors.Join(usagef("name one", "no such thing"), devicef("check the cable", "gone")), 3,
			"crownlog: no such thing; name one\ncrownlog: gone; check the cable\n"},
	} {
		t.Run(c.name, func(t *testing.T) {
			var stderr bytes.Buffer
			assert.Equal(t, c.want, (&console{err: &stderr}).fail(c.err))
			assert.Equal(t, c.said, stderr.String())
		})
	}
}

func TestFailPrintsOneLineAMistake(t *testing.T) {
	var stderr bytes.Buffer
	con := &console{err: &stderr}
	code := con.fail(errors.Join(errors.New("job.toml:3:1: unknown key"), errors.New("job.toml:9:2: want a number")))
	assert.Equal(t, 2, code)
	assert.Equal(t, "crownlog: job.toml:3:1: unknown key\ncrownlog: job.toml:9:2: want a number\n", stderr.String())
}
