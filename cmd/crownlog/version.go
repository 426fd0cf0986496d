package main

import (
	"cmp"
	"fmt"
	"runtime"
	"runtime/debug"

	"github.com/alecthomas/kong"
)

type versionCmd struct {
	JSON bool `name:"json" help:"Print one JSON object."`
}

// A versionInfo says which crownlog this is.
type versionInfo struct {
	Version  string `json:"version"`
	Revision string `json:"revision"`
	Modified bool   `json:"modified"`
	Go       string `json:"go"`
	OS       string `json:"os"`
	Arch     string `json:"arch"`
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

// A versionFlag prints the version in place of a verb.
type versionFlag bool

// BeforeReset is called where the flag is given.
func (versionFlag) BeforeReset(app *kong.Kong) error {
	fmt.Fprintln(app.Stdout, readVersion())
	app.Exit(exitOK)
	return nil
}

// String is the version in one line.
func (v versionInfo) String() string {
	revision := ""
	if v.Revision != "" {
		revision = fmt.Sprintf(" (%.12s", v.Revision)
		if v.Modified {
			revision += ", modified"
		}
		revision += ")"
	}
	return fmt.Sprintf("crownlog %s%s %s %s/%s", v.Version, revision, v.Go, v.OS, v.Arch)
}

// readVersion takes the version from what the Go tool stamped into the binary.
func readVersion() versionInfo {
	v := versionInfo{Version: "(devel)", Go: runtime.Version(), OS: runtime.GOOS, Arch: runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v
	}
	v.Version = cmp.Or(info.Main.Version, v.Version)
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			v.Revision = s.Value
		case "vcs.modified":
			v.Modified = s.Value == "true"
		}
	}
	return v
}
