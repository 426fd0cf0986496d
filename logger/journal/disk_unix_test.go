//go:build !windows

package journal

import "syscall"

// What the system says of a full disk.
const noSpace = syscall.ENOSPC
