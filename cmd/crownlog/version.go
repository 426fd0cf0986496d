package main

import (
	"cmp"
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCmd struct{}

// Run prints the version.
func (*versionCmd) Run(con *console) error {
	fmt.Fprintln(con.out, versionLine())
	return nil
}

func versionLine() string {
	return fmt.Sprintf("crownlog %s %s %s/%s", programVersion(), runtime.Version(), runtime.GOOS, runtime.GOARCH)
}

// programVersion is what the Go tool stamped into the binary: a release, or the
// commit it was built from.
func programVersion() string {
	stamped := ""
	if info, ok := debug.ReadBuildInfo(); ok {
		stamped = info.Main.Version
	}
	return cmp.Or(stamped, "(devel)")
}
