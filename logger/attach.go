package logger

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// Attach copies the file at path, a photo usually, into the folder's
// attachments and records it as a note: the name of the copy, its SHA-256 and
// the text given. The original is left where it is.
func (f *Folder) Attach(stage, path, text string, at time.Time) (Capture, error) {
	src, err := os.Open(path)
	if err != nil {
		return Capture{}, fmt.Errorf("attach: %w", err)
	}
	defer src.Close()
	info, err := src.Stat()
	if err != nil {
		return Capture{}, fmt.Errorf("attach: %w", err)
	}
	if !info.Mode().IsRegular() {
		return Capture{}, fmt.Errorf("attach %s: not a file", path)
	}
	dir := filepath.Join(f.dir, attachmentsDir)
	if err := os.MkdirAll(dir, folderMode); err != nil {
		return Capture{}, storeError("create", dir, err)
	}
	name := fmt.Sprintf("%04d-%s", len(f.Captures())+1, filepath.Base(path))
	hash := sha256.New()
	err = replaceWith(filepath.Join(dir, name), func(w io.Writer) error {
		_, err := io.Copy(io.MultiWriter(w, hash), src)
		return err
	})
	if err != nil {
		return Capture{}, err
	}
	c := plainCapture(stage, FeatureNote, at)
	c.Note = attachmentNote(name, hex.EncodeToString(hash.Sum(nil)), text)
	return f.Append(c)
}

func attachmentNote(name, sum, text string) string {
	note := fmt.Sprintf("attached %s/%s sha256:%s", attachmentsDir, name, sum)
	if text != "" {
		note += " " + text
	}
	return note
}

// An Attachment is a file kept with the job.
type Attachment struct {
	Capture Capture
	Path    string // inside the job folder
	SHA256  string
	Text    string
}

// Attachments lists the files attached to a job.
func Attachments(cs []Capture) []Attachment {
	var all []Attachment
	for _, c := range Live(cs) {
		rest, ok := strings.CutPrefix(c.Note, "attached ")
		path, rest, marked := strings.Cut(rest, " sha256:")
		if !ok || !marked || c.Feature != FeatureNote {
			continue
		}
		sum, text, _ := strings.Cut(rest, " ")
		all = append(all, Attachment{Capture: c, Path: path, SHA256: sum, Text: text})
	}
	return all
}

// ErrAttachmentChanged is returned by VerifyAttachment for a copy that is not
// what was attached.
var ErrAttachmentChanged = errors.New("attachment has changed since it was recorded")

// VerifyAttachment compares the copy in the job folder with its hash.
func VerifyAttachment(dir string, a Attachment) error {
	file, err := os.Open(filepath.Join(dir, filepath.FromSlash(a.Path)))
	if err != nil {
		return fmt.Errorf("verify attachment: %w", err)
	}
	defer file.Close()
	hash := sha256.New()
	if _, err := io.Copy(hash, file); err != nil {
		return fmt.Errorf("verify attachment: %w", err)
	}
	if hex.EncodeToString(hash.Sum(nil)) != a.SHA256 {
		return fmt.Errorf("%s: %w", a.Path, ErrAttachmentChanged)
	}
	return nil
}
