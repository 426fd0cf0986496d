//go:build !unix

package main

import (
	"syscall"

	"github.com/rogpeppe/go-internal/testscript"
)

// noSpace is ERROR_DISK_FULL, what Windows says of a full disk.
const noSpace = syscall.Errno(112)

// scriptCommands has nothing to add: there are no pseudo-terminals here, and
// the scripts that need one ask for [unix].
func scriptCommands(cmds map[string]func(*testscript.TestScript, bool, []string)) map[string]func(*testscript.TestScript, bool, []string) {
	return cmds
}
