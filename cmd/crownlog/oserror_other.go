//go:build !windows

package main

// heldOpen is false: a file that is open elsewhere can be read and replaced here.
func heldOpen(error) bool { return false }

// readerGone is false: SIGPIPE ends a program whose results nobody reads.
func readerGone(error) bool { return false }
