//go:build unix

package main

import (
	"os/signal"
	"syscall"
)

// outliveLimits has a write past the size that a file may have (ulimit -f) fail, as on a full disk. Without it the process would be ended in the middle.
func outliveLimits() { signal.Ignore(syscall.SIGXFSZ) }
