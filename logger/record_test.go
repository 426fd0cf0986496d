package logger

import (
	"bytes"
	"encoding/csv"
	"flag"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// golden compares got with a file in testdata.
func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	path := filepath.Join("testdata", name)
	if *update {
		require.NoError(t, os.WriteFile(path, got, fileMode))
	}
	want, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, string(want), string(got), "see %s; -update rewrites it", path)
}

// recordCaptures is a small job: backlash with an undone point, a run-out, a
// bolt in two passes, an override and notes that try to be formulas.
func recordCaptures(t *testing.T) *memoryStore {
	t.Helper()
	store := &memoryStore{}
	add := func(c Capture) Capture {
		stored, err := store.Append(c)
		require.NoError(t, err)
		return stored
	}
	for i := 1; i <= 8; i++ {
		add(sampleCapture(i, roundTo(trueBacklash(i), 1e-6)))
	}
	wrong := sampleCapture(3, 0.31)
	wrong.Supersedes = 3
	wrong = add(wrong)
	undone := wrong
	undone.Supersedes, undone.Quality = wrong.ID, QualityRejected
	add(undone)
	for i := 1; i <= 8; i++ {
		c := sampleCapture(i, 0.03*math.Sin(2*math.Pi*float64(i)/8))
		c.Stage, c.Feature, c.Low, c.High, c.Repeatability = StageBench, FeatureRunoutBackFace, math.NaN(), math.NaN(), math.NaN()
		c.Value = roundTo(c.Value, 1e-6)
		add(c)
	}
	for pass, note := range []string{"pass 1 of 2 (60 %)", "pass 2 of 2 (100 %)"} {
		c := sampleCapture(1, 58.7+40*float64(pass))
		c.Stage, c.Feature, c.Unit, c.U, c.Note = StageBench, FeatureWheelBolts, "N·m", 2.3, note
		add(c)
	}
	_, err := RecordOverride(store, StageSetUp, HoldFace, `=HYPERLINK("x"), the owner's wish`, testTime)
	require.NoError(t, err)
	_, err = RecordNote(store, StageFinal, "@sealant, batch 12\nwiped", testTime)
	require.NoError(t, err)
	return store
}

func TestRecordGolden(t *testing.T) {
	sheet := ExampleSheet()
	sheet.Vehicle.Label = "-2+3, \"my\" wagon"
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, sheet, recordCaptures(t).captures))
	golden(t, "record.csv", b.Bytes())

	rows, err := csv.NewReader(bytes.NewReader(b.Bytes())).ReadAll()
	require.NoError(t, err)
	assert.Equal(t, []string{"vehicle", "job", "stage", "feature", "position", "angle_deg", "value", "unit", "lower", "upper",
		"expanded_uncertainty", "verdict", "rocks", "repeatability", "time", "gauge", "note"}, rows[0])
	for _, row := range rows[1:] {
		require.Len(t, row, 17)
		for _, cell := range row {
			assert.False(t, cell != "" && bytes.ContainsAny([]byte(cell[:1]), "=+@\t\r"), "cell %q would run", cell)
		}
	}
}

func TestRecordEmptyJob(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, ExampleSheet(), nil))
	assert.Equal(t, "vehicle,job,stage,feature,position,angle_deg,value,unit,lower,upper,expanded_uncertainty,verdict,rocks,repeatability,time,gauge,note\r\n", b.String())
}

func TestRecordInChunks(t *testing.T) {
	store := &memoryStore{}
	for i := range 2*recordChunk + 5 {
		_, err := store.Append(sampleCapture(i%8+1, 0.17))
		require.NoError(t, err)
	}
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, ExampleSheet(), store.captures))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 2*recordChunk+6, "one header, every capture once")
}

func TestWriteRecordReplaces(t *testing.T) {
	f := newFolder(t)
	path, err := f.WriteRecord()
	require.NoError(t, err)
	first, err := os.ReadFile(path)
	require.NoError(t, err)
	_, err = f.Append(sampleCapture(1, 0.17))
	require.NoError(t, err)
	_, err = f.WriteRecord()
	require.NoError(t, err)
	second, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Greater(t, len(second), len(first))
	entries, err := os.ReadDir(f.Dir())
	require.NoError(t, err)
	for _, e := range entries {
		assert.NotContains(t, e.Name(), ".record.csv.", "no temporary file is left")
	}
}

func TestAttach(t *testing.T) {
	f := newFolder(t)
	photo := filepath.Join(t.TempDir(), "drive side.jpg")
	require.NoError(t, os.WriteFile(photo, []byte("abc"), fileMode))
	c, err := f.Attach(StageSetUp, photo, "drive flank", testTime)
	require.NoError(t, err)
	all, err := CheckAttachments(f.Dir(), f.Captures())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, c.ID, all[0].Capture.ID)
	// SHA-256 of "abc", FIPS 180-2, appendix B.1.
	assert.Equal(t, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", all[0].SHA256)
	assert.Equal(t, "attachments/0001-drive-side.jpg", all[0].Path)
	assert.Equal(t, "drive flank", all[0].Text)
	assert.Empty(t, all[0].Problem)
	copied := filepath.Join(f.Dir(), attachmentsDir, "0001-drive-side.jpg")

	require.NoError(t, os.WriteFile(copied, []byte("another"), fileMode))
	_, err = CheckAttachments(f.Dir(), f.Captures())
	var bad *AttachmentError
	require.ErrorAs(t, err, &bad)
	assert.Equal(t, AttachmentError{copied, "has changed since it was attached"}, *bad)

	require.NoError(t, os.Remove(copied))
	all, err = CheckAttachments(f.Dir(), f.Captures())
	require.ErrorContains(t, err, "the attached file is missing")
	assert.Equal(t, "is missing", all[0].Problem)

	_, err = f.Attach(StageSetUp, t.TempDir(), "", testTime)
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
		_, err := f.Attach(StageFinal, path, "text", testTime)
		require.NoError(t, err)
	}
	all, err := CheckAttachments(f.Dir(), f.Captures())
	require.NoError(t, err)
	require.Len(t, all, len(f.Captures()))
	for _, a := range all {
		assert.Equal(t, "text", a.Text)
	}
}

// TestAttachmentOfOldNames: earlier versions kept blanks and colons.
func TestAttachmentOfOldNames(t *testing.T) {
	sum := strings.Repeat("ab", 32)
	c := Capture{Feature: FeatureNote, Note: "attached attachments/0003-a sha256:beef.jpg sha256:" + sum + " seen sha256:1"}
	a, ok := AttachmentOf(c)
	require.True(t, ok)
	assert.Equal(t, "attachments/0003-a sha256:beef.jpg", a.Path)
	assert.Equal(t, sum, a.SHA256)
	assert.Equal(t, "seen sha256:1", a.Text)
	for _, note := range []string{"attached nothing", "attached attachments/../../x sha256:" + sum, "attached x sha256:" + sum} {
		_, ok := AttachmentOf(Capture{Feature: FeatureNote, Note: note})
		assert.False(t, ok, note)
	}
}

// BenchmarkCaptures opens and exports journals of up to a million captures, with
// the time and the highest heap a capture, so that linear can be seen; the
// baseline reads the same file with encoding/csv alone.
func BenchmarkCaptures(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		dir := b.TempDir()
		require.NoError(b, os.WriteFile(filepath.Join(dir, sheetFile), ExampleTOML(), fileMode))
		path := filepath.Join(dir, captureFile)
		data := []byte(captureHeader + lineEnd)
		for i := range n {
			c := sampleCapture(i%8+1, 0.17)
			c.ID, c.Time = i+1, testTime.Add(time.Duration(i)*time.Second)
			data = appendCapture(data, c)
		}
		require.NoError(b, os.WriteFile(path, data, fileMode))
		data = nil
		each := func(b *testing.B, work func()) {
			most := uint64(0)
			for b.Loop() {
				most = max(most, highestHeap(work))
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/capture")
			b.ReportMetric(float64(most)/float64(n), "heap-B/capture")
		}
		b.Run(fmt.Sprintf("open-%d", n), func(b *testing.B) {
			each(b, func() {
				snap, err := ReadFolder(dir)
				require.NoError(b, err)
				require.Len(b, snap.Captures, n)
			})
		})
		b.Run(fmt.Sprintf("open-baseline-encoding-csv-%d", n), func(b *testing.B) {
			each(b, func() {
				file, err := os.Open(path)
				require.NoError(b, err)
				rows, err := csv.NewReader(file).ReadAll()
				require.NoError(b, err)
				require.Len(b, rows, n+1)
				require.NoError(b, file.Close())
			})
		})
		snap, err := ReadFolder(dir)
		require.NoError(b, err)
		b.Run(fmt.Sprintf("export-%d", n), func(b *testing.B) {
			each(b, func() { require.NoError(b, WriteRecordCSV(discard{}, snap.Sheet, snap.Captures)) })
		})
	}
}

// highestHeap is the most that work had on the heap beyond what was there
// before, looked at every few milliseconds.
func highestHeap(work func()) uint64 {
	var m runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&m)
	before, most := m.HeapAlloc, m.HeapAlloc
	done := make(chan struct{})
	var watcher sync.WaitGroup
	watcher.Go(func() {
		tick := time.NewTicker(5 * time.Millisecond)
		defer tick.Stop()
		for {
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapAlloc)
			select {
			case <-done:
				return
			case <-tick.C:
			}
		}
	})
	work()
	close(done)
	watcher.Wait()
	return most - before
}

// discard is a writer that a CSV writer cannot tell from a file.
type discard struct{}

func (discard) Write(p []byte) (int, error) { return len(p), nil }

func TestRecordLeavesOutWhatAMoveMadeUntrue(t *testing.T) {
	store := &memoryStore{}
	fill(t, store, StageAsFound, FeatureBacklash, steady(0.16))
	fill(t, store, StageFinal, FeatureBacklash, steady(0.16))
	_, err := RecordMove(store, StageFinal, 1, "notch", "", testTime)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, WriteRecordCSV(&b, ExampleSheet(), store.captures))
	rows, err := csv.NewReader(&b).ReadAll()
	require.NoError(t, err)
	var got []string
	for _, row := range rows[1:] {
		got = append(got, row[2]+" "+row[3])
	}
	assert.Len(t, got, 9)
	assert.NotContains(t, got, "final backlash")
	assert.Contains(t, got, "final move")
}
