//go:build unix

package main

import (
	"os"
	"runtime"
	"syscall"
)

// peakOf is the most memory, in bytes, that a process which has ended held at once (getrusage(2): ru_maxrss, in KiB but on macOS, where it is bytes).
func peakOf(p *os.ProcessState) int64 {
	use, ok := p.SysUsage().(*syscall.Rusage)
	switch {
	case !ok:
		return 0
	case runtime.GOOS == "darwin":
		return int64(use.Maxrss)
	}
	return int64(use.Maxrss) << 10
}
