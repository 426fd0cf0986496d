package main

import (
	"cmp"
	"fmt"
	"runtime"
	"runtime/debug"
)

type versionCmd struct {
	JSON bool `name:"json" help:"Print one JSON object."`
}

// A versionInfo says which crownlog this is. The version names the commit it was
// built from where it is no release.
type versionInfo struct {
	Version string `json:"version"`
	Go      string `json:"go"`
	OS      string `json:"os"`
	Arch    string `json:"arch"`
}

// Run prints the version.
func (c *versionCmd) Run(con *console) error {
	v := readVersion()
	if c.JSON {
		return con.json(v)
	}
	fmt.Fprintln(con.out, v)
	return nil
}

// String is the version in one line.
func (v versionInfo) String() string {
	return fmt.Sprintf("crownlog %s %s %s/%s", v.Version, v.Go, v.OS, v.Arch)
}

// readVersion takes the version from what the Go tool stamped into the binary.
func readVersion() versionInfo {
	v := versionInfo{Version: "(devel)", Go: runtime.Version(), OS: runtime.GOOS, Arch: runtime.GOARCH}
	if info, ok := debug.ReadBuildInfo(); ok {
		v.Version = cmp.Or(info.Main.Version, v.Version)
	}
	return v
}
