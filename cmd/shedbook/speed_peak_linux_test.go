package main

import (
	"bytes"
	"fmt"
	"os"
	"strconv"
	"time"
)

// peakOf is the most memory, in bytes, that a process held at once by the time it ended, within the last few milliseconds: VmHWM of proc_pid_status(5). What
// wait4(2) says afterwards counts what the parent held when it started the process, so a small program beside a large one would look as large.
func peakOf(pid int, ended <-chan struct{}) <-chan int64 {
	peak := make(chan int64, 1)
	go func() {
		var most int64
		every := time.NewTicker(3 * time.Millisecond)
		defer every.Stop()
		for {
			if status, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid)); err == nil {
				if _, after, ok := bytes.Cut(status, []byte("VmHWM:")); ok {
					if words := bytes.Fields(after); len(words) > 0 {
						kib, _ := strconv.ParseInt(string(words[0]), 10, 64)
						most = max(most, kib<<10)
					}
				}
			}
			select {
			case <-ended:
				peak <- most
				return
			case <-every.C:
			}
		}
	}()
	return peak
}
