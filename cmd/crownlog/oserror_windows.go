package main

import (
	"errors"
	"syscall"
)

// Source: Windows system error codes.
const (
	errorSharingViolation = syscall.Errno(32)
	errorLockViolation    = syscall.Errno(33)
	errorNoData           = syscall.Errno(232)
)

// heldOpen recognises a file that another program, such as a spreadsheet, keeps
// for itself.
func heldOpen(err error) bool {
	return errors.Is(err, errorSharingViolation) || errors.Is(err, errorLockViolation)
}

// readerGone recognises a write into a pipe whose other end was closed. Elsewhere
// a signal ends the program there.
func readerGone(err error) bool {
	return errors.Is(err, syscall.ERROR_BROKEN_PIPE) || errors.Is(err, errorNoData)
}
