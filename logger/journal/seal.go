package journal

import (
	"crypto/rand"
	_ "embed"
	"encoding/hex"
	"errors"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"time"

	"crownlog/logger/record"
)

// sheetsDir keeps each job.toml that something was recorded under, by its hash.
const sheetsDir = "sheets"

// Format describes every file of a job and every column, for whoever opens one
// without this program. FormatFile is where a job folder has it.
//
//go:embed FORMAT.txt
var Format string

const FormatFile = "FORMAT.txt"

// entry is a line of the chain's own.
func (f *Folder) entry(kind, path, sum, mark string) record.Capture {
	c := record.Blank("", kind, f.clock(time.Now()))
	c.Gauge, c.Note, c.Quality = path, sum, mark
	return c
}

// newJob is a random number for a job.
func newJob() string {
	number := make([]byte, 16)
	_, _ = rand.Read(number) // never fails: it ends the program instead
	return hex.EncodeToString(number)
}

// beginning is what must stand in the journal before the first line of this run:
// the chain where it has none, the job.toml of this run where it is not the one
// logged last, and a seal for readings that a broken-off run left without one.
func (f *Folder) beginning() ([]record.Capture, error) {
	var lines []record.Capture
	if f.digest.Job == "" {
		job := newJob()
		lines = append(lines, f.entry(EntryChain, "", job, ""))
		// There before the first line is: a chain without a digest is one whose end
		// nobody knows.
		if err := replaceFile(filepath.Join(f.dir, digestFile), []byte(Digest{Job: job}.Text())); err != nil {
			return nil, err
		}
	}
	sum, logged := hashOf(f.sheet), ""
	for _, e := range f.entries {
		if e.Kind == EntrySheet {
			logged = e.SHA256
		}
	}
	if logged != sum {
		name := sheetsDir + "/" + sum[:16] + ".toml"
		err := os.MkdirAll(filepath.Join(f.dir, sheetsDir), folderMode)
		if err == nil {
			err = errors.Join(replaceFile(filepath.Join(f.dir, name), f.sheet), replaceFile(filepath.Join(f.dir, FormatFile), []byte(Format)))
		}
		if err != nil {
			return nil, storeError("log job.toml in", f.dir, err)
		}
		lines = append(lines, f.entry(EntrySheet, name, sum, ""))
	}
	paths, err := listReadings(filepath.Join(f.dir, readingsDir))
	if err != nil {
		return nil, err
	}
	for _, p := range paths {
		name := path.Join(readingsDir, filepath.Base(p))
		sealed := slices.ContainsFunc(f.entries, func(e Entry) bool { return e.Kind == EntrySeal && e.Path == name })
		if sealed || f.writer != nil && f.writer.path == p {
			continue
		}
		sum, err := hashFile(p)
		if err != nil {
			return nil, storeError("seal", p, err)
		}
		lines = append(lines, f.entry(EntrySeal, name, sum, MarkLate))
	}
	return lines, nil
}

// seal logs that the readings of a round are complete.
func (f *Folder) seal(w *ReadingsWriter) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.file == nil || f.broken != nil {
		return nil // it was said already; the next run seals what it finds
	}
	err := f.write(f.entry(EntrySeal, path.Join(readingsDir, filepath.Base(w.path)), hex.EncodeToString(w.hash.Sum(nil)), ""))
	f.writer = nil
	return err
}

// place is where the readings of the round that goes on stand now. f.mu is held.
func (f *Folder) place() string {
	if f.writer == nil {
		return ""
	}
	f.writer.mu.Lock()
	defer f.writer.mu.Unlock()
	return filepath.Base(f.writer.path) + ":" + strconv.Itoa(f.writer.lines)
}

// writeDigest writes captures.digest in place.
func (f *Folder) writeDigest(d Digest) error {
	name := filepath.Join(f.dir, digestFile)
	file, err := os.OpenFile(name, os.O_WRONLY, 0)
	if err == nil {
		_, err = file.WriteAt([]byte(d.Text()), 0)
		err = errors.Join(err, file.Close())
	}
	if err != nil {
		return storeError("write", name, err)
	}
	return nil
}
