package journal

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

func TestAttach(t *testing.T) {
	f := newFolder(t)
	photo := filepath.Join(t.TempDir(), "drive side.jpg")
	require.NoError(t, os.WriteFile(photo, []byte("abc"), fileMode))
	c, err := f.Attach(record.StageSetUp, photo, "drive flank", folderTime)
	require.NoError(t, err)
	all, err := CheckAttachments(f.Dir(), f.Captures())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, c.Attachment, all[0].Attachment)
	// SHA-256 of "abc", FIPS 180-2, appendix B.1.
	assert.Equal(t, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", all[0].SHA256)
	assert.Equal(t, "attachments/0001-drive-side.jpg", all[0].Path)
	assert.Equal(t, "drive flank", c.Note)
	assert.Empty(t, all[0].Problem)
	copied := filepath.Join(f.Dir(), record.AttachmentsDir, "0001-drive-side.jpg")

	require.NoError(t, os.WriteFile(copied, []byte("another"), fileMode))
	_, err = CheckAttachments(f.Dir(), f.Captures())
	var bad *AttachmentError
	require.ErrorAs(t, err, &bad)
	assert.Equal(t, AttachmentError{copied, "has changed since it was attached"}, *bad)

	require.NoError(t, os.Remove(copied))
	all, err = CheckAttachments(f.Dir(), f.Captures())
	require.ErrorContains(t, err, "the attached file is missing")
	assert.Equal(t, "is missing", all[0].Problem)

	_, err = f.Attach(record.StageSetUp, t.TempDir(), "", folderTime)
	require.ErrorContains(t, err, "not a file")
	assert.Len(t, f.Captures(), 1)
}

// TestAttachmentsOfAnyName: what is recorded is the name on the disk.
func TestAttachmentsOfAnyName(t *testing.T) {
	f := newFolder(t)
	dir := t.TempDir()
	names := []string{"evil\nname.jpg", "a sha256:beef.jpg", "=1+1", "ümläut.jpg", strings.Repeat("x", 200) + ".jpg", "." + strings.Repeat("y", 200)}
	for _, name := range names {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, []byte(name), fileMode); err != nil {
			t.Logf("this system has no file called %q", name)
			continue
		}
		_, err := f.Attach(record.StageFinal, path, "text", folderTime)
		require.NoError(t, err)
	}
	all, err := CheckAttachments(f.Dir(), f.Captures())
	require.NoError(t, err)
	require.Len(t, all, len(f.Captures()))
	for i, c := range f.Captures() {
		assert.Equal(t, "text", c.Note)
		assert.Equal(t, c.Attachment, all[i].Attachment)
	}
}

func TestNamesOfCopies(t *testing.T) {
	for name, want := range map[string]string{
		"photo.jpg":                                "photo.jpg",
		"a b\tc:d\u2028e\xff.jpg":                  "a-b-c-d-e-.jpg",
		strings.Repeat("ä", 44) + ".jpg":           strings.Repeat("ä", 44) + ".jpg", // 48 letters
		strings.Repeat("ä", 45) + ".jpg":           strings.Repeat("ä", 44) + ".jpg",
		"stem." + strings.Repeat("y", 46):          "s." + strings.Repeat("y", 46),
		"stem." + strings.Repeat("y", 47):          "stem." + strings.Repeat("y", 43), // no room for the stem
		strings.Repeat("x", 45) + ".tar" + ".json": strings.Repeat("x", 43) + ".json",
	} {
		assert.Equal(t, want, safeFileName(name), "%q", name)
	}
}

// TestNotesAreNoAttachments, and what cannot be read is told.
func TestNotesAreNoAttachments(t *testing.T) {
	f := newFolder(t)
	_, err := record.AddNote(f, record.StageFinal, "sealant", folderTime)
	require.NoError(t, err)
	_, err = f.Attach(record.StageFinal, filepath.Join(t.TempDir(), "none.jpg"), "", folderTime)
	require.ErrorIs(t, err, os.ErrNotExist)
	require.ErrorContains(t, err, "attach: ")
	photo := filepath.Join(t.TempDir(), "photo.jpg")
	require.NoError(t, os.WriteFile(photo, nil, fileMode))
	c, err := f.Attach(record.StageFinal, photo, "", folderTime)
	require.NoError(t, err)
	copied := filepath.Join(f.Dir(), c.Attachment.Path)
	require.NoError(t, os.Remove(copied))
	require.NoError(t, os.Mkdir(copied, folderMode))
	all, err := CheckAttachments(f.Dir(), f.Captures())
	require.EqualError(t, err, copied+": the attached file cannot be read")
	assert.Len(t, all, 1)
}
