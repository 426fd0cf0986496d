package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	"crownlog/device"
)

// A rawCapture keeps the bytes of a gauge in a new file; one that none came for is
// removed again. A nil one keeps nothing.
type rawCapture struct {
	*os.File
	failed chan error
}

// newRawCapture refuses a file that is there already.
func newRawCapture(path string) (*rawCapture, error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, fs.ErrExist) {
		return nil, usagef("name a new file", "%s: file exists", path)
	}
	return &rawCapture{file, make(chan error, 1)}, err
}

// broken receives the error of the first bytes that could not be kept.
func (r *rawCapture) broken() <-chan error {
	if r == nil {
		return nil
	}
	return r.failed
}

// Close closes the file.
func (r *rawCapture) Close() error {
	if r == nil {
		return nil
	}
	info, err := r.Stat()
	err = errors.Join(err, r.File.Close())
	if err == nil && info.Size() == 0 {
		err = os.Remove(r.Name())
	}
	return err
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
		if _, kept := t.raw.Write(p[:n]); kept != nil {
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
