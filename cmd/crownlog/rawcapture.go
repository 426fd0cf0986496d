package main

import (
	"context"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"crownlog/device"
)

// A rawCapture keeps the bytes of a gauge in a new file, which is made when the
// first byte comes. A nil one keeps nothing.
type rawCapture struct {
	path   string
	file   *os.File
	failed chan error
}

// newRawCapture refuses a file that is there already, and a folder that is not.
func newRawCapture(path string) (*rawCapture, error) {
	if _, err := os.Lstat(path); err == nil {
		return nil, usagef("name a new file", "%s: file exists", path)
	}
	dir, err := os.Stat(filepath.Dir(path))
	if err == nil && !dir.IsDir() {
		err = &fs.PathError{Op: "open", Path: path, Err: fs.ErrNotExist}
	}
	if err != nil {
		return nil, err
	}
	return &rawCapture{path: path, failed: make(chan error, 1)}, nil
}

// broken receives the error of the first bytes that could not be kept.
func (r *rawCapture) broken() <-chan error {
	if r == nil {
		return nil
	}
	return r.failed
}

// keep writes bytes to the file.
func (r *rawCapture) keep(b []byte) (err error) {
	if r.file == nil {
		if r.file, err = os.OpenFile(r.path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644); err != nil {
			return err
		}
	}
	_, err = r.file.Write(b)
	return err
}

// Close closes the file, if there is one.
func (r *rawCapture) Close() error {
	if r == nil || r.file == nil {
		return nil
	}
	return r.file.Close()
}

// tapped opens ports whose bytes are also kept.
func (r *rawCapture) tapped(open device.Opener) device.Opener {
	return func(ctx context.Context) (device.Port, string, error) {
		port, name, err := open(ctx)
		if err != nil {
			return nil, "", err
		}
		return &tap{Port: port, raw: r}, name, nil
	}
}

// A tap is a port that keeps a copy of what is read from it.
type tap struct {
	device.Port
	raw *rawCapture
}

// Read reads from the port and keeps the bytes before they are handed on.
func (t *tap) Read(p []byte) (int, error) {
	n, err := t.Port.Read(p)
	if n > 0 {
		if kept := t.raw.keep(p[:n]); kept != nil {
			kept = fmt.Errorf("raw capture: %w", kept)
			select {
			case t.raw.failed <- kept:
			default:
			}
			return 0, kept
		}
	}
	return n, err
}
