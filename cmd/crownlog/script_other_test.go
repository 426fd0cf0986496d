//go:build !unix

package main

import "github.com/rogpeppe/go-internal/testscript"

// scriptCommands has nothing to add: there are no pseudo-terminals here, and
// the scripts that need one ask for [unix].
func scriptCommands(cmds map[string]func(*testscript.TestScript, bool, []string)) map[string]func(*testscript.TestScript, bool, []string) {
	return cmds
}
