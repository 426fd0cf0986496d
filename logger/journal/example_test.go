package journal_test

import (
	"fmt"
	"os"
	"path/filepath"
	"time"

	"crownlog/logger/journal"
	"crownlog/logger/record"
)

// A capture is on the disk when Append returns, and a reader needs no lock.
func Example() {
	tmp, err := os.MkdirTemp("", "job")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(tmp)
	dir := filepath.Join(tmp, "axle")
	sheetIsThere := func(path string, _ []byte) error { _, err := os.Stat(path); return err }
	if err := journal.Create(dir, []byte("schema = 1\n")); err != nil {
		fmt.Println(err)
		return
	}
	folder, err := journal.Open(dir, sheetIsThere)
	if err != nil {
		fmt.Println(err)
		return
	}
	defer folder.Close()
	c := record.Blank(record.StageAsFound, record.FeatureBacklash, time.Date(2026, 3, 4, 9, 30, 0, 0, time.UTC))
	c.Position, c.Value, c.Unit = 1, 0.171, "mm"
	if _, err := folder.Append(c); err != nil {
		fmt.Println(err)
		return
	}
	_, err = journal.Open(dir, sheetIsThere)
	fmt.Println("a second writer:", filepath.Base(err.Error()))
	snap, err := journal.Read(dir, sheetIsThere)
	fmt.Println("a reader:", len(snap.Captures), snap.Captures[0].Value, snap.Captures[0].Unit, err)
	// Output:
	// a second writer: axle: job folder is in use by another program
	// a reader: 1 0.171 mm <nil>
}
