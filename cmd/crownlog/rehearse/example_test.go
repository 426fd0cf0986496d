package rehearse_test

import (
	"context"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"crownlog/cmd/crownlog/rehearse"
	"crownlog/device/simbench"
	"crownlog/logger"
	"crownlog/logger/job"
)

// A rehearsal plays a whole job on the simulated bench, as fast as it goes. The
// same seed is the same axle.
func ExampleRehearsal() {
	dir, err := os.MkdirTemp("", "example-")
	if err != nil {
		fmt.Println(err)
		return
	}
	defer os.RemoveAll(dir)
	folder, err := job.Create(filepath.Join(dir, "job"), rehearse.Sheet())
	if err != nil {
		fmt.Println(err)
		return
	}
	defer folder.Close()
	bench, err := simbench.New(simbench.Config{Seed: 7})
	if err != nil {
		fmt.Println(err)
		return
	}
	defer bench.Close()

	r := rehearse.Rehearsal{Folder: folder, Bench: bench, Out: io.Discard, Lines: io.Discard,
		Listen: func(logger.Event) {}, Summary: func(logger.View) []string { return nil }}
	if err := r.Play(context.Background()); err != nil {
		fmt.Println(err)
		return
	}
	end, err := r.Conclude()
	fmt.Println("too far from the truth:", end.Off, err)
	// Output:
	// too far from the truth: false <nil>
}
