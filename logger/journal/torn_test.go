package journal

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTornAtEveryByte cuts the journal inside its last line, at every offset.
func TestTornAtEveryByte(t *testing.T) {
	whole, lines := smallJournal(t, 3)
	start := len(whole) - len(lines[3])
	for cut := start; cut < len(whole); cut++ {
		dir := folderWith(t, whole[:cut])
		snap, err := readFolder(dir)
		require.NoError(t, err, "cut at %d", cut)
		require.Len(t, snap.Captures, 2)
		assert.Equal(t, string(whole[start:cut]), snap.Torn)

		f, err := openFolder(dir)
		require.NoError(t, err, "cut at %d", cut)
		require.Len(t, f.Captures(), 2)
		torn, err := os.ReadFile(filepath.Join(dir, captureFile+tornSuffix))
		if cut == start {
			assert.Empty(t, f.Torn())
			require.ErrorIs(t, err, os.ErrNotExist)
		} else {
			assert.Equal(t, string(whole[start:cut]), f.Torn())
			assert.Equal(t, string(whole[start:cut])+"\n", string(torn))
		}
		c, err := f.Append(sampleCapture(3, 0.2))
		require.NoError(t, err)
		assert.Equal(t, 3, c.ID)
		require.NoError(t, f.Close())
		snap, err = readFolder(dir)
		require.NoError(t, err)
		assert.Len(t, snap.Captures, 3)
	}
}

// TestTornWithZeros is what a power loss leaves where the file's length was
// written but not its data.
func TestTornWithZeros(t *testing.T) {
	whole, lines := smallJournal(t, 2)
	cut := len(whole) - len(lines[2]) + 20
	data := append(append([]byte{}, whole[:cut]...), make([]byte, 300)...)
	f, err := openFolder(folderWith(t, data))
	require.NoError(t, err)
	assert.Len(t, f.Captures(), 1)
	assert.Contains(t, f.Torn(), "\x00\x00")
	require.NoError(t, f.Close())
}

// TestEveryFlippedByte changes each byte of a journal in turn, in two ways.
func TestEveryFlippedByte(t *testing.T) {
	t.Parallel()
	whole, lines := smallJournal(t, 3)
	dir := folderWith(t, whole)
	path := filepath.Join(dir, captureFile)
	for i := range whole {
		for _, flip := range []byte{0x01, 0x20, 0x40, 0xff} {
			data := append([]byte{}, whole...)
			data[i] ^= flip
			_, _, _, err := readCaptures(path, bytes.NewReader(data), nil)
			var damage *DamageError
			require.ErrorAs(t, err, &damage, "byte %d of %q ^ %#x", i, lineAt(lines, i), flip)
			assert.InDelta(t, lineNumber(lines, i), damage.Line, 1)
			if i%17 > 0 || flip != 0x01 {
				continue
			}
			require.NoError(t, os.WriteFile(path, data, fileMode))
			_, err = readFolder(dir)
			require.ErrorAs(t, err, &damage)
			_, err = openFolder(dir)
			require.ErrorAs(t, err, &damage)
		}
	}
}

func TestMissingAndDoubledLines(t *testing.T) {
	_, lines := smallJournal(t, 3)
	for name, order := range map[string][]int{
		"missing": {0, 1, 3}, "doubled": {0, 1, 1, 2, 3}, "swapped": {0, 2, 1, 3}, "first gone": {0, 2, 3},
	} {
		t.Run(name, func(t *testing.T) {
			var data []byte
			for _, i := range order {
				data = append(data, lines[i]...)
			}
			_, err := readFolder(folderWith(t, data))
			var damage *DamageError
			require.ErrorAs(t, err, &damage)
			assert.Contains(t, damage.Reason, "missing or doubled")
		})
	}
}

// smallJournal is the bytes of a journal of n captures, and its lines.
func smallJournal(t *testing.T, n int) ([]byte, [][]byte) {
	t.Helper()
	lines := [][]byte{[]byte(oldHeader + lineEnd)}
	for i := range n {
		c := sampleCapture(i+1, 0.16+0.001*float64(i))
		c.ID, c.Note = i+1, `a "note", quoted`
		lines = append(lines, appendOld(nil, c))
	}
	var whole []byte
	for _, l := range lines {
		whole = append(whole, l...)
	}
	return whole, lines
}

func lineNumber(lines [][]byte, at int) int {
	for i, l := range lines {
		if at < len(l) {
			return i + 1
		}
		at -= len(l)
	}
	return len(lines)
}

func lineAt(lines [][]byte, at int) []byte { return lines[lineNumber(lines, at)-1] }

// folderWith is a job folder with the given captures.csv.
func folderWith(t *testing.T, captures []byte) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(dir, SheetFile), anySheet, fileMode))
	require.NoError(t, os.WriteFile(filepath.Join(dir, captureFile), captures, fileMode))
	return dir
}
