//go:build !windows

package journal

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// accountJob names the job folder in the environment of a child that works at it
// with the mask in accountMask.
const accountJob, accountMask = "JOURNAL_TEST_JOB", "JOURNAL_TEST_MASK"

func TestMain(m *testing.M) {
	if dir := os.Getenv(accountJob); dir != "" {
		if err := workAs(dir, os.Getenv(accountMask)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		return
	}
	os.Exit(m.Run())
}

// workAs does one of everything that writes in a job folder, which it makes where
// it is missing.
func workAs(dir, mask string) error {
	bits := 0
	if _, err := fmt.Sscanf(mask, "%o", &bits); err != nil {
		return err
	}
	syscall.Umask(bits)
	if _, err := os.Stat(dir); err != nil {
		if err := Create(dir, anySheet); err != nil {
			return err
		}
	}
	f, err := openFolder(dir)
	if err != nil {
		return err
	}
	w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
	if err != nil {
		return err
	}
	if err := w.Record(streamEvents()[0]); err != nil {
		return err
	}
	if _, err := f.Append(sampleCapture(1, 0.17)); err != nil {
		return err
	}
	if err := w.Close(); err != nil {
		return err
	}
	if _, err := f.Attach(record.StageAsFound, filepath.Join(dir, SheetFile), "", folderTime); err != nil {
		return err
	}
	if err := replaceFile(filepath.Join(dir, "record.csv"), nil); err != nil {
		return err
	}
	return f.Close()
}

// asAccount runs workAs in a process of another account.
func asAccount(t *testing.T, exe, dir, mask string, uid uint32) {
	t.Helper()
	child := exec.Command(exe)
	child.Env = append(os.Environ(), accountJob+"="+dir, accountMask+"="+mask)
	if os.Getuid() == 0 {
		child.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: uid, Gid: 4711}}
	}
	out, err := child.CombinedOutput()
	require.NoError(t, err, "account %d with mask %s: %s", uid, mask, out)
}

// TestAccountsInTurn: two accounts of one group work at a job in turn, whose masks
// let the group write.
func TestAccountsInTurn(t *testing.T) {
	if os.Getuid() != 0 {
		t.Skip("only root can become two accounts")
	}
	// A folder all can reach; that of the test is for its account alone.
	base, err := os.MkdirTemp("/tmp", "accounts-")
	require.NoError(t, err)
	t.Cleanup(func() { os.RemoveAll(base) })
	require.NoError(t, os.Chown(base, 0, 4711))
	require.NoError(t, os.Chmod(base, 0o775))
	exe := filepath.Join(base, "journal.test")
	data, err := os.ReadFile(os.Args[0])
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(exe, data, 0o755))
	for _, tt := range []struct{ made, first, second string }{
		{"002", "002", "002"},
	} {
		t.Run(tt.made+" "+tt.first+" "+tt.second, func(t *testing.T) {
			dir := filepath.Join(base, "job"+tt.first)
			asAccount(t, exe, dir, tt.made, 7001)
			for range 2 {
				asAccount(t, exe, dir, tt.second, 7002)
				asAccount(t, exe, dir, tt.first, 7001)
			}
			snap, err := readFolder(dir)
			require.NoError(t, err)
			assert.Len(t, record.Valid(snap.Captures, record.StageAsFound, record.FeatureBacklash), 5)
			assert.Len(t, snap.Readings, 5)
			require.NoError(t, os.RemoveAll(dir))
		})
	}
}

// TestMaskIsHonoured: what is for its owner alone stays so, and a mode that the
// user has set stays when the file is written anew.
func TestMaskIsHonoured(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "job")
	asAccount(t, os.Args[0], dir, "077", 0)
	require.NoError(t, filepath.WalkDir(dir, func(path string, _ os.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := os.Stat(path)
		require.NoError(t, err)
		assert.Zero(t, info.Mode().Perm()&0o077, path)
		return nil
	}))
	record := filepath.Join(dir, "record.csv")
	require.NoError(t, os.Chmod(record, 0o640))
	asAccount(t, os.Args[0], dir, "022", 0)
	info, err := os.Stat(record)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o640), info.Mode().Perm())
}

// TestNoFiles: what is no file is refused at once, and what is too large is not
// taken into memory.
func TestNoFiles(t *testing.T) {
	for _, name := range []string{captureFile, SheetFile, digestFile} {
		dir, _ := chained(t)
		path := filepath.Join(dir, name)
		require.NoError(t, os.RemoveAll(path))
		require.NoError(t, syscall.Mkfifo(path, 0o600))
		_, err := readFolder(dir)
		require.ErrorContains(t, err, "not a file", name)
		require.ErrorContains(t, err, name)
		require.NoError(t, os.Remove(path))
		require.NoError(t, os.Symlink("/dev/zero", path))
		_, err = readFolder(dir)
		require.ErrorContains(t, err, "not a file", name)
		require.NoError(t, os.Remove(path))
		require.NoError(t, os.WriteFile(path, nil, fileMode))
		require.NoError(t, os.Truncate(path, 3<<30))
		_, err = readFolder(dir)
		require.ErrorContains(t, err, "larger than any", name)
	}
	for range ReadReadings("/dev/zero") {
		break
	}
}

// TestZerosAreNoLine: a line has an end, or it is no journal's.
func TestZerosAreNoLine(t *testing.T) {
	zeros, err := os.Open("/dev/zero")
	require.NoError(t, err)
	defer zeros.Close()
	for _, err := range Readings("x", zeros) {
		require.EqualError(t, err, "x:1: record damaged: "+"the line is longer than 1 MiB: no journal has such lines")
	}
}

// TestSecondWriterWithoutTheLock: .lock is only a name.
func TestSecondWriterWithoutTheLock(t *testing.T) {
	f := newFolder(t)
	require.NoError(t, os.Remove(filepath.Join(f.Dir(), lockFile)))
	_, err := openFolder(f.Dir())
	require.ErrorIs(t, err, ErrFolderInUse)
	_, err = f.Append(sampleCapture(1, 0.17))
	require.NoError(t, err)
}

// TestTakenAway: whatever takes captures.csv away while it is open stops the run,
// which says what is safe and writes it down again.
func TestTakenAway(t *testing.T) {
	for name, tt := range map[string]struct {
		take   func(dir string) error
		reason string
	}{
		"replaced": {func(dir string) error {
			path := filepath.Join(dir, captureFile)
			data, err := os.ReadFile(path)
			if err == nil {
				err = replaceFile(path, data)
			}
			return err
		}, "replaced by another"},
		"cut":     {func(dir string) error { return os.Truncate(filepath.Join(dir, captureFile), 300) }, "changed the length of the file"},
		"deleted": {func(dir string) error { return os.Remove(filepath.Join(dir, captureFile)) }, "the file or its folder was deleted or moved"},
		"moved": {func(dir string) error {
			return os.Rename(filepath.Join(dir, captureFile), filepath.Join(dir, "old.csv"))
		}, "the file or its folder was deleted or moved"},
		"folder moved":   {func(dir string) error { return os.Rename(dir, dir+"-old") }, "the file or its folder was deleted or moved"},
		"folder deleted": {os.RemoveAll, "the file or its folder was deleted or moved"},
	} {
		for _, when := range []string{"before a line", "before the end"} {
			t.Run(name+" "+when, func(t *testing.T) {
				f := newFolder(t)
				for i := range 3 {
					_, err := f.Append(sampleCapture(i+1, 0.17))
					require.NoError(t, err)
				}
				require.NoError(t, tt.take(f.Dir()))
				var err error
				if when == "before a line" {
					_, err = f.Append(sampleCapture(4, 0.18))
					_, again := f.Append(sampleCapture(4, 0.18))
					require.Equal(t, err, again, "it stays stopped")
					require.NoError(t, f.Close(), "it was said")
				} else {
					err = f.Close()
				}
				var taken *TakenError
				require.ErrorAs(t, err, &taken)
				assert.Contains(t, taken.Reason, tt.reason)
				assert.Equal(t, 3, taken.Stored)
				kept, err := os.Open(taken.Kept)
				require.NoError(t, err)
				defer kept.Close()
				r, _, _, err := readCaptures(taken.Kept, kept, nil)
				require.NoError(t, err)
				require.Len(t, r.captures, 3)
				assertSameCapture(t, f.captures[2], r.captures[2])
			})
		}
	}
}
