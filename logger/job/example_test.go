package job_test

import (
	"fmt"
	"log"
	"os"
	"path/filepath"

	"crownlog/logger/job"
	"crownlog/logger/sheet"
)

// A new job, and what comes first in it.
func ExampleCreate() {
	dir, err := os.MkdirTemp("", "job")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	folder, err := job.Create(filepath.Join(dir, "axle"), sheet.ExampleTOML())
	if err != nil {
		log.Fatal(err)
	}
	defer folder.Close()

	j := job.Job{Sheet: folder.Sheet(), Captures: folder.Captures()}
	next, _ := j.Next()
	fmt.Printf("%s: %d of %d\n", next.Title, next.Measured, next.Needed)
	for _, h := range job.InTheWay(job.HoldPoints(j.Sheet, j.Captures), next) {
		fmt.Printf("before %s: %s\n", h.Before, h.Reason)
	}
	// Output:
	// backlash, as-found: 0 of 8
	// before the strip: Do not strip yet: the as-found backlash is not measured all round.
	// before the locker and the new bolts: Do not put locker and new bolts in yet: run-out of the back face, fit-up: not measured.
	// before setting the backlash: Do not set the backlash yet: run-out of the back face, bench: not measured.
}
