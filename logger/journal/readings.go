package journal

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"hash"
	"os"
	"path/filepath"
	"sync"
	"time"

	"crownlog/device"
	"crownlog/logger/record"
)

// A ReadingSink keeps the raw stream of a round: readings, garbled frames and
// gaps.
type ReadingSink interface {
	Record(ev device.Event) error
}

// readingsHeader is the first line of a readings file.
const readingsHeader = "time,gauge,raw,value,unit,flags,crc"

const readingsCells = 6 // without crc

// syncInterval groups the syncs of raw readings, so that the live path never
// waits for the disk: a sync can take tens of milliseconds,
// a gauge sends every 10 ms. What a power loss takes of the raw stream is this
// long at most; captures are synced one by one.
const syncInterval = 100 * time.Millisecond

// A ReadingsWriter keeps the raw readings of one round in a file of their own.
// It implements ReadingSink.
type ReadingsWriter struct {
	path   string
	folder *Folder // nil in tests
	stop   chan struct{}
	done   chan struct{}

	closing sync.Once
	sealed  error      // why it could not be sealed
	mu      sync.Mutex // guards the rest; not held while syncing
	file    journalFile
	hash    hash.Hash // of what was written
	lines   int       // of it, with the header
	line    []byte
	dirty   bool
	err     error // the first failure; nothing is written after it
}

// Readings starts the next readings file of a stage and feature:
// readings/<stage>-<feature>-<n>.csv with n one above the highest there is: the
// highest is the latest, also where one has been taken away.
func (f *Folder) Readings(stage, feature string) (*ReadingsWriter, error) {
	if err := record.SafeName(stage, feature); err != nil {
		return nil, err
	}
	dir := filepath.Join(f.dir, readingsDir)
	if err := os.MkdirAll(dir, folderMode); err != nil {
		return nil, storeError("create", dir, err)
	}
	round := stage + "-" + feature
	earlier, err := listReadings(dir)
	if err != nil {
		return nil, err
	}
	next := 1
	for _, path := range earlier {
		if of, n := ReadingsRound(path); of == round {
			next = max(next, n+1)
		}
	}
	path := filepath.Join(dir, fmt.Sprintf("%s-%d.csv", round, next))
	// O_EXCL: readings that are there already are evidence and stay.
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL|os.O_APPEND, fileMode)
	if err != nil {
		return nil, storeError("create", path, err)
	}
	if _, err = file.WriteString(readingsHeader + lineEnd); err == nil {
		err = errors.Join(file.Sync(), syncDir(dir))
	}
	if err != nil {
		return nil, errors.Join(storeError("write", path, err), file.Close())
	}
	w := newReadingsWriter(path, file)
	f.mu.Lock()
	w.folder, f.writer = f, w
	f.mu.Unlock()
	return w, nil
}

func newReadingsWriter(path string, file journalFile) *ReadingsWriter {
	w := &ReadingsWriter{path: path, file: file, stop: make(chan struct{}), done: make(chan struct{}), hash: sha256.New(), lines: 1}
	w.hash.Write([]byte(readingsHeader + lineEnd))
	go w.syncLoop()
	return w
}

// Path is the file written to.
func (w *ReadingsWriter) Path() string { return w.path }

// Record writes one gauge event at once; it is on disk at most syncInterval
// later. The first error, of a write or of a sync before, stays.
func (w *ReadingsWriter) Record(ev device.Event) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.err != nil {
		return w.err
	}
	if w.folder != nil {
		ev.Time = w.folder.clock(ev.Time)
	}
	w.line = appendReading(w.line[:0], ev)
	if _, err := w.file.Write(w.line); err != nil {
		w.err = storeError("store reading in", w.path, err)
		return w.err
	}
	w.hash.Write(w.line)
	w.lines++
	w.dirty = true
	return nil
}

// syncLoop syncs what was written since the last tick, until Close.
func (w *ReadingsWriter) syncLoop() {
	defer close(w.done)
	tick := time.NewTicker(syncInterval)
	defer tick.Stop()
	for {
		select {
		case <-w.stop:
			return
		case <-tick.C:
			w.sync()
		}
	}
}

// sync lets Record go on meanwhile: it holds no lock while the disk is busy. A
// failure is kept for the next Record, for nobody waits here to be told.
func (w *ReadingsWriter) sync() {
	w.mu.Lock()
	dirty := w.dirty && w.err == nil
	w.dirty = false
	w.mu.Unlock()
	if dirty {
		w.keep("sync", w.file.Sync())
	}
}

// keep keeps the first failure.
func (w *ReadingsWriter) keep(what string, err error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	if err != nil && w.err == nil {
		w.err = storeError(what, w.path, err)
	}
}

// Close syncs what is left, closes the file and seals it: its hash goes into the
// journal. It is safe to call twice.
func (w *ReadingsWriter) Close() error {
	w.closing.Do(func() {
		close(w.stop)
		<-w.done
		w.sync()
		w.keep("close", w.file.Close())
		if w.folder != nil {
			w.sealed = w.folder.seal(w)
		}
	})
	w.mu.Lock()
	defer w.mu.Unlock()
	return errors.Join(w.err, w.sealed)
}
