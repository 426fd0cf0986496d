package main

import (
	"os"
	"path/filepath"
	"strings"
)

// portHolder names the programs that have port open, as far as this user may
// see: "minicom (4711)".
func portHolder(port string) string {
	real, err := filepath.EvalSymlinks(port)
	if err != nil {
		return ""
	}
	var holders []string
	links, _ := filepath.Glob("/proc/[0-9]*/fd/*")
	for _, link := range links {
		target, err := os.Readlink(link)
		if err != nil || target != real {
			continue
		}
		proc := filepath.Dir(filepath.Dir(link))
		name, err := os.ReadFile(filepath.Join(proc, "comm"))
		if err != nil {
			continue
		}
		holder := strings.TrimSpace(string(name)) + " (" + filepath.Base(proc) + ")"
		if len(holders) == 0 || holders[len(holders)-1] != holder {
			holders = append(holders, holder)
		}
	}
	return strings.Join(holders, ", ")
}
