package journal

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// BenchmarkOpen opens journals of up to a million captures, with
// the time and the highest heap a capture, so that linear can be seen; the
// baseline reads the same file with encoding/csv alone.
func BenchmarkOpen(b *testing.B) {
	for _, n := range []int{10_000, 100_000, 1_000_000} {
		dir := b.TempDir()
		require.NoError(b, os.WriteFile(filepath.Join(dir, SheetFile), anySheet, fileMode))
		path := filepath.Join(dir, captureFile)
		data := []byte(oldHeader + lineEnd)
		for i := range n {
			c := sampleCapture(i%8+1, 0.17)
			c.ID, c.Time = i+1, folderTime.Add(time.Duration(i)*time.Second)
			data = appendOld(data, c)
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
				snap, err := readFolder(dir)
				require.NoError(b, err)
				require.Len(b, snap.Captures, n)
			})
		})
		b.Run(fmt.Sprintf("baseline-encoding-csv-%d", n), func(b *testing.B) {
			each(b, func() {
				file, err := os.Open(path)
				require.NoError(b, err)
				rows, err := csv.NewReader(file).ReadAll()
				require.NoError(b, err)
				require.Len(b, rows, n+1)
				require.NoError(b, file.Close())
			})
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
