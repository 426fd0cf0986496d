package main

import (
	"fmt"
	"runtime"
	"runtime/debug"
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
	fmt.Fprintf(con.out, "crownlog %s", v.Version)
	if v.Revision != "" {
		fmt.Fprintf(con.out, " (%.12s", v.Revision)
		if v.Modified {
			fmt.Fprint(con.out, ", modified")
		}
		fmt.Fprint(con.out, ")")
	}
	fmt.Fprintf(con.out, " %s %s/%s\n", v.Go, v.OS, v.Arch)
	return nil
}

// readVersion takes the version from what the Go tool stamped into the binary.
func readVersion() versionInfo {
	v := versionInfo{Version: "(devel)", Go: runtime.Version(), OS: runtime.GOOS, Arch: runtime.GOARCH}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return v
	}
	if info.Main.Version != "" {
		v.Version = info.Main.Version
	}
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
