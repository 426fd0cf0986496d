package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"

	"crownlog/device"
	"crownlog/logger"
)

func TestExitCodes(t *testing.T) {
	for _, c := range []struct {
		name string
		err  error
		want int
	}{
		{"none", nil, 0},
		{"interrupted", context.Canceled, 0},
		{"outside", errOutside, 1},
		{"outside, and the rest went well", errors.Join(errOutside, nil), 1},
		{"usage", usagef("", "no such thing"), 2},
		{"file missing", &fs.PathError{Op: "open", Path: "x", Err: syscall.ENOENT}, 2},
		{"sheet with a mistake", errors.New("job.toml:3:1: unknown key"), 2},
		{"port", fmt.Errorf("gauge: %w", &device.PortError{Port: "x", Reason: device.PortBusy}), 3},
		{"gauge lost", errGaugeLost, 3},
		{"record damaged", fmt.Errorf("job: %w", &logger.DamageError{Path: "captures.csv", Line: 4}), 4},
		{"may not write the record", &logger.StoreError{What: "write", Path: "record.csv", Err: syscall.EACCES}, 4},
		{"may not read an input", &fs.PathError{Op: "open", Path: "x", Err: syscall.EACCES}, 2},
		{"attachment changed", &logger.AttachmentError{Path: "x", Problem: "is missing"}, 4},
		{"disk full", &fs.PathError{Op: "write", Path: "x", Err: syscall.ENOSPC}, 4},
	} {
		t.Run(c.name, func(t *testing.T) { assert.Equal(t, c.want, exitCode(c.err)) })
	}
}

func TestPortErrorsSayWhatToDo(t *testing.T) {
	missing := filepath.Join(t.TempDir(), "ttyUSB7")
	for _, c := range []struct {
		err  device.PortError
		goos string
		want string
	}{
		{device.PortError{Reason: device.PortMissing}, "linux", "check the cable; crownlog ports lists what is there"},
		{device.PortError{Reason: device.PortDenied}, "linux", "install the rules in udev/"},
		{device.PortError{Reason: device.PortDenied, Group: "uucp"}, "linux", "install the rules in udev/, or join the group: sudo usermod -aG uucp $USER, then log in again"},
		{device.PortError{Reason: device.PortDenied}, "darwin", "run as a user who may open serial ports"},
		{device.PortError{Reason: device.PortBusy, Port: missing}, "linux", "close the other program that has it open"},
		{device.PortError{Reason: device.PortIsDir}, "linux", "name the port inside it, such as /dev/ttyUSB0"},
		{device.PortError{Reason: device.PortNotSerial}, "linux", "crownlog ports lists the serial ports"},
		{device.PortError{Reason: device.PortBadSetting}, "linux", "check baud, data bits, parity and stop bits in the gauge profile"},
	} {
		assert.Equal(t, c.want, portHint(&c.err, c.goos), "%s on %s", c.err.Reason, c.goos)
	}
}

func TestFailPrintsOneLineAMistake(t *testing.T) {
	var stderr bytes.Buffer
	con := &console{err: &stderr}
	code := con.fail(errors.Join(errors.New("job.toml:3:1: unknown key"), errors.New("job.toml:9:2: want a number")))
	assert.Equal(t, 2, code)
	assert.Equal(t, "crownlog: job.toml:3:1: unknown key\ncrownlog: job.toml:9:2: want a number\n", stderr.String())
}
