package journal

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"crownlog/device"
	"crownlog/device/frame"
	"crownlog/logger/record"
)

// streamEvents is one event of each kind, with the raw texts that hurt.
func streamEvents() []device.Event {
	var events []device.Event
	for i, raw := range []string{"+0.171 mm", "=cmd()", `a "b", c`, "tab\there", "\x00\xff", `back\slash`, "01 04 04"} {
		at := folderTime.Add(time.Duration(i) * time.Millisecond)
		events = append(events, device.Event{Kind: device.EventReading, Time: at, Gauge: "indicator",
			Reading: device.Reading{Time: at, Gauge: "indicator", Raw: raw, Value: -0.171 * float64(i), Unit: "mm",
				Flags: frame.Flags(i * 9)}})
	}
	events = append(events, device.Event{Kind: device.EventReading, Time: folderTime, Gauge: "wrench",
		Reading: device.Reading{Time: folderTime, Gauge: "wrench", Raw: "42.5", Value: 42.5, Unit: "N·m", Flags: frame.FlagPress}})
	for kind := device.EventGarbled; kind <= device.EventEnd; kind++ {
		events = append(events, device.Event{Kind: kind, Time: folderTime.Add(time.Second), Gauge: "@g", Text: "-what, \"happened\""})
	}
	events = append(events, device.Event{Kind: device.EventGarbled, Time: folderTime, Gauge: "indicator", Text: "over range: OL",
		Flags: frame.FlagOverRange | frame.FlagLowBattery})
	return events
}

func TestLatestReadingsHaveTheHighestNumber(t *testing.T) {
	f := newFolder(t)
	var last string
	for range 3 {
		w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
		require.NoError(t, err)
		require.NoError(t, w.Close())
		last = w.Path()
	}
	require.NoError(t, os.Remove(filepath.Join(filepath.Dir(last), "as-found-backlash-1.csv")))
	require.NoError(t, os.WriteFile(filepath.Join(filepath.Dir(last), "as-found-backlash-of-mine-9.csv"), nil, 0o600))
	w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(t, err)
	require.NoError(t, w.Close())
	assert.Equal(t, "as-found-backlash-4.csv", filepath.Base(w.Path()))
}

func TestReadingsRoundTrip(t *testing.T) {
	f := newFolder(t)
	want := streamEvents()
	for n := 1; n <= 2; n++ {
		w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
		require.NoError(t, err)
		assert.Equal(t, filepath.Join(f.Dir(), "readings", "as-found-backlash-"+string(rune('0'+n))+".csv"), w.Path())
		for _, ev := range want {
			require.NoError(t, w.Record(ev))
		}
		require.NoError(t, w.Close())
		require.NoError(t, w.Close(), "safe twice")
	}
	snap, err := readFolder(f.Dir())
	require.NoError(t, err)
	require.Len(t, snap.Readings, 2)
	var got []device.Event
	for ev, err := range ReadReadings(snap.Readings[1]) {
		require.NoError(t, err)
		got = append(got, ev)
	}
	for i := range got {
		if k := got[i].Kind; k == device.EventReading || k == device.EventGarbled {
			assert.Equal(t, want[i], got[i])
		}
	}
	assert.Len(t, got, len(want))
	for range ReadReadings(snap.Readings[0]) {
		break // a reader may stop early
	}
}

func TestReadingsTornAndDamaged(t *testing.T) {
	f := newFolder(t)
	w, err := f.Readings(record.StageAsFound, record.FeatureBacklash)
	require.NoError(t, err)
	for _, ev := range streamEvents()[:3] {
		require.NoError(t, w.Record(ev))
	}
	require.NoError(t, w.Close())
	data, err := os.ReadFile(w.Path())
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "r.csv")
	count := func(data []byte) (int, error) {
		require.NoError(t, os.WriteFile(path, data, fileMode))
		n := 0
		for _, err := range ReadReadings(path) {
			if err != nil {
				return n, err
			}
			n++
		}
		return n, nil
	}
	n, err := count(data[:len(data)-5])
	require.NoError(t, err)
	assert.Equal(t, 2, n, "a torn line is left out")
	for i := range data {
		bad := append([]byte{}, data...)
		bad[i] ^= 0x10
		_, err := count(bad)
		var damage *DamageError
		require.ErrorAs(t, err, &damage, "byte %d", i)
	}
	for _, err := range ReadReadings(filepath.Join(t.TempDir(), "none.csv")) {
		require.ErrorIs(t, err, os.ErrNotExist)
	}
}

func TestReadingsNames(t *testing.T) {
	f := newFolder(t)
	for _, name := range []string{"", "../up", "a/b", "Caps", "a b"} {
		_, err := f.Readings(name, record.FeatureBacklash)
		require.ErrorContains(t, err, "want lower-case letters", "%q", name)
	}
}

// A slowDisk takes its time to sync and counts.
type slowDisk struct {
	journalFile
	mu     sync.Mutex
	lines  int
	syncs  int
	closed bool
	err    error // of writes
	syncFn func() error
}

func (d *slowDisk) Write(p []byte) (int, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.err != nil {
		return 0, d.err
	}
	d.lines += strings.Count(string(p), "\n")
	return len(p), nil
}

func (d *slowDisk) Sync() error {
	d.mu.Lock()
	d.syncs++
	d.mu.Unlock()
	return d.syncFn()
}

func (d *slowDisk) Close() error { d.closed = true; return nil }

// TestReadingsSyncInGroups: a disk that takes 80 ms to sync does not slow the
// readings, and a burst is synced once, not once a reading.
func TestReadingsSyncInGroups(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := &slowDisk{syncFn: func() error { time.Sleep(80 * time.Millisecond); return nil }}
		w := newReadingsWriter("r.csv", disk)
		start := time.Now()
		for range 1000 {
			require.NoError(t, w.Record(streamEvents()[0]))
		}
		assert.Zero(t, time.Since(start), "no waiting for the disk")
		assert.Equal(t, 1000, disk.lines, "written at once")
		time.Sleep(250 * time.Millisecond)
		synctest.Wait()
		assert.Equal(t, 1, disk.syncs)
		require.NoError(t, w.Record(streamEvents()[0]))
		require.NoError(t, w.Close())
		assert.Equal(t, 2, disk.syncs, "the rest is synced on closing")
		assert.True(t, disk.closed)
	})
}

func TestReadingsReportFailures(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		disk := &slowDisk{err: noSpace, syncFn: func() error { return nil }}
		w := newReadingsWriter("r.csv", disk)
		require.ErrorIs(t, w.Record(streamEvents()[0]), ErrDiskFull)
		require.ErrorIs(t, w.Close(), ErrDiskFull)

		broken := errors.New("input/output error")
		disk = &slowDisk{syncFn: func() error { return broken }}
		w = newReadingsWriter("r.csv", disk)
		require.NoError(t, w.Record(streamEvents()[0]))
		time.Sleep(150 * time.Millisecond)
		synctest.Wait()
		require.ErrorIs(t, w.Record(streamEvents()[0]), broken, "a failed sync is told at the next reading")
		require.ErrorIs(t, w.Close(), broken)
	})
}
