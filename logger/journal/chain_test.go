package journal

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/logger/record"
)

// chained is a job with three captures of one round, and its captures.csv.
func chained(t *testing.T) (dir string, data []byte) {
	t.Helper()
	f := newFolder(t)
	w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(t, err)
	for i := range 3 {
		require.NoError(t, w.Record(streamEvents()[0]))
		c, err := f.Append(sampleCapture(i+1, 0.17))
		require.NoError(t, err)
		assert.Equal(t, fmt.Sprintf("as-found-backlash-1.csv:%d", i+2), c.From)
	}
	require.NoError(t, w.Close())
	require.NoError(t, f.Close())
	data, err = os.ReadFile(filepath.Join(f.Dir(), captureFile))
	require.NoError(t, err)
	return f.Dir(), data
}

// TestChainByHand computes the values of a journal from its text, as FORMAT.txt
// describes them: another program can.
func TestChainByHand(t *testing.T) {
	dir, data := chained(t)
	lines := strings.Split(strings.TrimSuffix(string(data), "\r\n"), "\r\n")
	require.Len(t, lines, 7, "header, chain, sheet, three captures, seal")
	value := sha256.Sum256([]byte(lines[0]))
	for i, line := range lines[1:] {
		cells := strings.Split(line, ",")
		covered := strings.Join(cells[:len(cells)-2], ",")
		value = sha256.Sum256([]byte(hex.EncodeToString(value[:]) + "," + covered))
		assert.Equal(t, hex.EncodeToString(value[:]), cells[len(cells)-2], "line %d", i+2)
	}
	snap, err := readFolder(dir)
	require.NoError(t, err)
	require.Len(t, snap.Entries, 3)
	kinds := []string{snap.Entries[0].Kind, snap.Entries[1].Kind, snap.Entries[2].Kind}
	assert.Equal(t, []string{EntryChain, EntrySheet, EntrySeal}, kinds)
	assert.Equal(t, []int{2, 3, 7}, []int{snap.Entries[0].Line, snap.Entries[1].Line, snap.Entries[2].Line})
	assert.Equal(t, Digest{Job: snap.Entries[0].SHA256, First: snap.Digest.First, Last: hex.EncodeToString(value[:]), Lines: 6}, snap.Digest)
	for _, e := range snap.Entries[1:] {
		text, err := os.ReadFile(filepath.Join(dir, e.Path))
		require.NoError(t, err)
		sum := sha256.Sum256(text)
		assert.Equal(t, hex.EncodeToString(sum[:]), e.SHA256, e.Path)
	}
	d, err := digestOf(dir)
	require.NoError(t, err)
	assert.Equal(t, &snap.Digest, d)
}

// recrc gives a line that was changed the check value that fits it: what whoever
// changes a record with an editor and a calculator does.
func recrc(line string) string {
	body := strings.TrimSuffix(line, "\r\n")
	return string(sealLine([]byte(body[:strings.LastIndex(body, ",")+1]), 0))
}

// TestChangedChains: lines that agree with their check values, and not with each
// other.
func TestChangedChains(t *testing.T) {
	_, other := chained(t)
	for name, tt := range map[string]struct {
		change func(lines []string) []string
		line   int  // where it is noticed
		edited bool // as no disk does
	}{
		"a value":               {func(l []string) []string { l[4] = recrc(strings.Replace(l[4], ",0.17,", ",0.12,", 1)); return l }, 5, true},
		"a time":                {func(l []string) []string { l[3] = recrc(strings.Replace(l[3], ",2026-", ",2025-", 1)); return l }, 4, true},
		"a sheet":               {func(l []string) []string { l[2] = recrc(strings.Replace(l[2], "sheets/", "sheets/0", 1)); return l }, 3, true},
		"a seal removed":        {func(l []string) []string { return l[:6] }, 7, false},
		"the last lines":        {func(l []string) []string { return l[:5] }, 6, false},
		"all lines":             {func(l []string) []string { return l[:1] }, 0, false},
		"a line removed":        {func(l []string) []string { return append(l[:4], l[5:]...) }, 5, false},
		"the sheet removed":     {func(l []string) []string { return append(l[:2], l[3:]...) }, 3, true},
		"a line doubled":        {func(l []string) []string { return append(l[:5], l[4:]...) }, 6, false},
		"lines swapped":         {func(l []string) []string { l[3], l[4] = l[4], l[3]; return l }, 4, false},
		"of another job":        {func(l []string) []string { l[4] = strings.SplitAfter(string(other), "\n")[4]; return l }, 5, true},
		"another job":           {func([]string) []string { return strings.SplitAfter(string(other), "\n")[:7] }, 0, false},
		"the chain taken off":   {func(l []string) []string { return unchained(l) }, 0, false},
		"a chain cell left out": {func(l []string) []string { l[4] = unchain(l[4]); return l }, 5, true},
	} {
		t.Run(name, func(t *testing.T) {
			dir, data := chained(t)
			lines := tt.change(strings.SplitAfter(string(data), "\n")[:7])
			path := filepath.Join(dir, captureFile)
			require.NoError(t, os.WriteFile(path, []byte(strings.Join(lines, "")), fileMode))
			for range 2 {
				_, err := readFolder(dir)
				var damage *DamageError
				require.ErrorAs(t, err, &damage)
				assert.Equal(t, path, damage.Path)
				assert.Equal(t, tt.line, damage.Line, damage.Reason)
				_, err = openFolder(dir)
				require.ErrorAs(t, err, &damage)
			}
			// A repair goes on with the rest, and says for ever that it was made.
			m, err := SetAside(dir, record.StageBench)
			require.NoError(t, err)
			snap, err := readFolder(dir)
			require.NoError(t, err)
			require.Equal(t, EntryRepair, snap.Entries[1].Kind)
			assert.Equal(t, tt.edited, snap.Entries[1].Mark == MarkEdited)
			assert.Equal(t, filepath.Base(m.KeptAs), snap.Entries[1].Path)
			f, err := openFolder(dir)
			require.NoError(t, err)
			_, err = f.Append(sampleCapture(1, 0.18))
			require.NoError(t, err)
			require.NoError(t, f.Close())
			snap, err = readFolder(dir)
			require.NoError(t, err)
			assert.Equal(t, EntryRepair, snap.Entries[1].Kind)
		})
	}
}

var chainCells = regexp.MustCompile(`,[^,]*,[^,]*,[^,]*,[0-9a-f]{64},[0-9a-f]{8}\r\n$`)

// unchain makes the line one of before there was a chain.
func unchain(line string) string {
	return string(sealLine([]byte(chainCells.ReplaceAllString(line, ",")), 0))
}

// unchained makes the whole journal one of before there was a chain.
func unchained(lines []string) []string {
	old := []string{oldHeader + lineEnd}
	for _, line := range lines[1:] {
		if !strings.HasPrefix(line, "0,") {
			old = append(old, unchain(line))
		}
	}
	return old
}

// TestDigestIsMissing: without it the end of a journal is anybody's.
func TestDigestIsMissing(t *testing.T) {
	dir, _ := chained(t)
	require.NoError(t, os.Remove(filepath.Join(dir, digestFile)))
	_, err := readFolder(dir)
	require.ErrorContains(t, err, digestFile+", which says where it ends, is missing")
	_, err = openFolder(dir)
	require.ErrorContains(t, err, "is missing")
}

// TestKilledBetweenLineAndDigest: the digest is behind, which is no damage.
func TestKilledBetweenLineAndDigest(t *testing.T) {
	dir, _ := chained(t)
	path := filepath.Join(dir, digestFile)
	before, err := os.ReadFile(path)
	require.NoError(t, err)
	f, err := openFolder(dir)
	require.NoError(t, err)
	_, err = f.Append(sampleCapture(4, 0.17))
	require.NoError(t, err)
	require.NoError(t, f.Close())
	require.NoError(t, os.WriteFile(path, before, fileMode))
	f, err = openFolder(dir)
	require.NoError(t, err)
	_, err = f.Append(sampleCapture(5, 0.17))
	require.NoError(t, err)
	require.NoError(t, f.Close())
}

// TestOldJobGoesOn: its lines stay as they are, and the first new one covers them.
func TestOldJobGoesOn(t *testing.T) {
	whole, _ := smallJournal(t, 3)
	dir := folderWith(t, whole)
	f, err := openFolder(dir)
	require.NoError(t, err)
	c, err := f.Append(sampleCapture(4, 0.18))
	require.NoError(t, err)
	assert.Equal(t, 4, c.ID)
	require.NoError(t, f.Close())
	path := filepath.Join(dir, captureFile)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(data, whole), "no line is written again")
	snap, err := readFolder(dir)
	require.NoError(t, err)
	assert.Len(t, snap.Captures, 4)
	assert.Equal(t, 3, snap.Entries[0].After, "made before there was a chain")
	// A line of before the chain is covered from now on.
	lines := strings.SplitAfter(string(data), "\n")
	lines[2] = recrc(strings.Replace(lines[2], ",as-found,", ",set-up,", 1))
	require.NoError(t, os.WriteFile(path, []byte(strings.Join(lines, "")), fileMode))
	_, err = readFolder(dir)
	require.ErrorContains(t, err, "captures.csv:5: record damaged: the line does not follow")
}

// TestReadingsOfABrokenRun are sealed by the next one as they are found.
func TestReadingsOfABrokenRun(t *testing.T) {
	f := newFolder(t)
	w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(t, err)
	require.NoError(t, w.Record(streamEvents()[0]))
	require.NoError(t, f.Close())
	require.NoError(t, w.Close(), "there is nothing to seal it in")
	f, err = openFolder(f.Dir())
	require.NoError(t, err)
	defer f.Close()
	_, err = record.AddNote(f, record.StageAsFound, "sealant", folderTime)
	require.NoError(t, err)
	last := f.entries[len(f.entries)-1]
	assert.Equal(t, []string{EntrySeal, "readings/as-found-backlash-1.csv", MarkLate}, []string{last.Kind, last.Path, last.Mark})
}

// TestSheetsAreLogged once for each that something was recorded under.
func TestSheetsAreLogged(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "job")
	require.NoError(t, Create(dir, anySheet))
	var sheets []string
	for _, text := range []string{"schema = 1\n", "schema = 1\n", "schema = 1 # wider\n", "schema = 1\n"} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, SheetFile), []byte(text), fileMode))
		f, err := Open(dir, sheetThere)
		require.NoError(t, err)
		_, err = record.AddNote(f, record.StageFinal, "n", time.Now())
		require.NoError(t, err)
		require.NoError(t, f.Close())
		sheets = nil
		for _, e := range f.entries {
			if e.Kind == EntrySheet {
				text, err := os.ReadFile(filepath.Join(dir, e.Path))
				require.NoError(t, err)
				sheets = append(sheets, string(text))
			}
		}
	}
	assert.Equal(t, []string{"schema = 1\n", "schema = 1 # wider\n", "schema = 1\n"}, sheets)
}

// TestLeftByKilledRuns: temporary files that are old enough go, others stay; a
// folder that Create did not finish is finished.
func TestLeftByKilledRuns(t *testing.T) {
	dir, _ := chained(t)
	old, young, other := filepath.Join(dir, ".report.pdf.123456"), filepath.Join(dir, ".record.csv.99"), filepath.Join(dir, ".notes")
	for _, path := range []string{old, young, other} {
		require.NoError(t, os.WriteFile(path, nil, fileMode))
	}
	before := time.Now().Add(-2 * tempAge)
	require.NoError(t, os.Chtimes(old, before, before))
	require.NoError(t, os.Chtimes(other, before, before))
	f, err := openFolder(dir)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	assert.NoFileExists(t, old)
	assert.FileExists(t, young)
	assert.FileExists(t, other)

	made := filepath.Join(t.TempDir(), "job")
	require.NoError(t, Create(made, anySheet))
	require.NoError(t, os.Remove(filepath.Join(made, SheetFile)))
	require.NoError(t, os.WriteFile(filepath.Join(made, ".job.toml.77"), nil, fileMode))
	require.NoError(t, Create(made, anySheet))
	require.NoError(t, os.Remove(filepath.Join(made, SheetFile)))
	whole, _ := smallJournal(t, 1)
	require.NoError(t, os.WriteFile(filepath.Join(made, captureFile), whole, fileMode))
	require.ErrorContains(t, Create(made, anySheet), "not empty", "something was recorded in it")
}

// TestDigestFiles: one that is not whole is no digest.
func TestDigestFiles(t *testing.T) {
	path := filepath.Join(t.TempDir(), digestFile)
	d := Digest{Job: strings.Repeat("a", 32), First: strings.Repeat("b", 64), Last: strings.Repeat("c", 64), Lines: 7}
	for _, text := range []string{"", d.Text()[1:], d.Text() + "x", strings.Replace(d.Text(), "cccc", "x", 1), strings.Replace(d.Text(), "7", "x", 1)} {
		require.NoError(t, os.WriteFile(path, []byte(text), fileMode))
		_, err := readDigest(path)
		var damage *DamageError
		require.ErrorAs(t, err, &damage, "%q", text)
	}
	require.NoError(t, os.WriteFile(path, []byte(d.Text()), fileMode))
	got, err := readDigest(path)
	require.NoError(t, err)
	assert.Equal(t, &d, got)
	require.ErrorIs(t, Kept(t.TempDir(), path+"-none"), os.ErrNotExist)
}

// TestFormatNamesEveryColumn, and every file and kind of line.
func TestFormatNamesEveryColumn(t *testing.T) {
	for _, word := range append(strings.Split(captureHeader+","+readingsHeader, ","), append([]string{EntryChain, EntrySheet, EntrySeal, EntryRepair, MarkLate, MarkEdited}, SheetFile, captureFile, digestFile, sheetsDir, readingsDir,
		record.AttachmentsDir, tornSuffix, damagedSuffix, rescuedSuffix)...) {
		assert.Regexp(t, `(?m)\b`+regexp.QuoteMeta(strings.Trim(word, ".-"))+`\b`, Format, word)
	}
	dir, _ := chained(t)
	text, err := os.ReadFile(filepath.Join(dir, FormatFile))
	require.NoError(t, err)
	assert.Equal(t, Format, string(text))
}

// TestJobWithoutPartsGoesOn: one begun before the parts of u were stored opens with
// them not known, and goes on under its header with longer lines.
func TestJobWithoutPartsGoesOn(t *testing.T) {
	dir, data := chained(t)
	path := filepath.Join(dir, captureFile)
	old, l := []byte(partlessHeader+lineEnd), ledger{sum: headerSum(partlessHeader)}
	for _, line := range strings.Split(strings.TrimSuffix(string(data), lineEnd), lineEnd)[1:] {
		covered, err := checkedCells([]byte(line))
		require.NoError(t, err)
		c, _, _, err := new(ledger).parse(string(covered))
		require.NoError(t, err)
		from := len(old)
		old = appendCells(old, c, partlessCells)
		sum := l.sum.next(old[from : len(old)-1])
		old = sealLine(append(hex.AppendEncode(old, sum[:]), ','), from)
		l.add(c, sum)
	}
	require.NoError(t, os.WriteFile(path, old, fileMode))
	require.NoError(t, os.WriteFile(filepath.Join(dir, digestFile), []byte(l.whole().Text()), fileMode))

	f, err := openFolder(dir)
	require.NoError(t, err)
	require.Len(t, f.Captures(), 3)
	assert.Zero(t, f.Captures()[0].OwnU)
	assert.Zero(t, f.Captures()[0].HandU)
	assert.Equal(t, "as-found-backlash-1.csv:2", f.Captures()[0].From)
	_, err = f.Append(sampleCapture(4, 0.18))
	require.NoError(t, err)
	require.NoError(t, f.Close())
	data, err = os.ReadFile(path)
	require.NoError(t, err)
	assert.True(t, bytes.HasPrefix(data, old), "no line is written again")
	snap, err := readFolder(dir)
	require.NoError(t, err)
	assert.InDelta(t, 0.0004, snap.Captures[3].OwnU, 0)
	assert.InDelta(t, 0.0012, snap.Captures[3].HandU, 0)

	// Measured again from its readings such a capture has parts, and its u was made
	// by another rule; its value has to be the same.
	was, again := snap.Captures[0], snap.Captures[0]
	again.U, again.OwnU, again.HandU = 0.0014, 0.0004, 0.0012
	assert.Empty(t, Differs(was, again))
	assert.Contains(t, Differs(again, was), "the u is", "one with parts is held to them")
	again.Value += 1e-5
	assert.Contains(t, Differs(was, again), "the value is")
	edited := snap.Captures[3]
	edited.HandU = 0.0002
	assert.Contains(t, Differs(snap.Captures[3], edited), "u_hand")
}
