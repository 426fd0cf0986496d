package journal

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"
	"unicode"

	"crownlog/logger/record"
)

// Attach copies the file at path, a photo usually, into the folder's
// attachments and records it as a note: the name of the copy, its SHA-256 and
// the text given. The original is left where it is.
func (f *Folder) Attach(stage, path, text string, at time.Time) (record.Capture, error) {
	src, err := openPlain(path, math.MaxInt64)
	if errors.Is(err, errNotPlain) {
		return record.Capture{}, fmt.Errorf("attach %s: %w", path, err)
	}
	if err != nil {
		return record.Capture{}, fmt.Errorf("attach: %w", err)
	}
	defer src.Close()
	dir := filepath.Join(f.dir, record.AttachmentsDir)
	if err := os.MkdirAll(dir, folderMode); err != nil {
		return record.Capture{}, storeError("create", dir, err)
	}
	// The number of the capture in front keeps two files of one name apart.
	name := fmt.Sprintf("%04d-%s", len(f.Captures())+1, safeFileName(filepath.Base(path)))
	hash := sha256.New()
	err = ReplaceFile(filepath.Join(dir, name), func(w io.Writer) error {
		_, err := io.Copy(io.MultiWriter(w, hash), src)
		return err
	})
	if err != nil {
		return record.Capture{}, err
	}
	c := record.Blank(stage, record.FeatureNote, at)
	c.Attachment = record.Attachment{Path: record.AttachmentsDir + "/" + name, SHA256: hex.EncodeToString(hash.Sum(nil))}
	c.Note = text
	return f.Append(c)
}

// longestName is how many letters of a file's own name a copy keeps. File systems
// allow 255 bytes, of which a letter takes up to four, with a number in front and
// the name of a temporary file while it is written.
const longestName = 48

// safeFileName makes a name that every system can store and that stands in one
// line of the record as it stands on the disk.
func safeFileName(name string) string {
	safe := strings.Map(func(r rune) rune {
		if unwanted(r) || unicode.IsSpace(r) || strings.ContainsRune(`<>:"/\|?*`, r) {
			return '-'
		}
		return r
	}, strings.ToValidUTF8(name, "-"))
	ext := filepath.Ext(safe)
	stem := []rune(strings.TrimSuffix(safe, ext))
	if room := longestName - len([]rune(ext)); len(stem) > room {
		if room < 1 {
			return string([]rune(safe)[:longestName])
		}
		stem = stem[:room]
	}
	return string(stem) + ext
}

// An AttachmentError is an attached file that is not what was attached.
type AttachmentError struct{ Path, Problem string }

func (e *AttachmentError) Error() string { return e.Path + ": the attached file " + e.Problem }

// CheckAttachments compares the copy of every attached file with its hash. It
// returns all of them; the error joins an *AttachmentError for each that is
// missing, changed or cannot be read.
func CheckAttachments(dir string, cs []record.Capture) ([]record.CheckedAttachment, error) {
	var all []record.CheckedAttachment
	var bad []error
	for _, c := range record.Active(cs) {
		if c.Attachment.Path == "" {
			continue
		}
		a := record.CheckedAttachment{Attachment: c.Attachment}
		path := filepath.Join(dir, filepath.FromSlash(a.Path))
		if a.Problem = FileProblem(path, a.SHA256); a.Problem != "" {
			a.Problem = strings.Replace(a.Problem, changed, changed+" since it was attached", 1)
			bad = append(bad, &AttachmentError{path, a.Problem})
		}
		all = append(all, a)
	}
	return all, errors.Join(bad...)
}

// Orphans are the files in attachments that no note names, as the notes would name
// them: attaching one was broken off, or it was copied in.
func Orphans(dir string, cs []record.Capture) []string {
	var orphans []string
	files, _ := os.ReadDir(filepath.Join(dir, record.AttachmentsDir)) // none is fine
	for _, e := range files {
		name := record.AttachmentsDir + "/" + e.Name()
		if !slices.ContainsFunc(cs, func(c record.Capture) bool { return c.Attachment.Path == name }) {
			orphans = append(orphans, name)
		}
	}
	return orphans
}

const changed = "has changed"

// FileProblem says what is wrong with a file that has a hash, "" for nothing.
func FileProblem(path, sum string) string {
	found, err := hashFile(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return "is missing"
	case err != nil:
		return "cannot be read"
	case found != sum:
		return changed
	}
	return ""
}
