//go:build !linux

package main

// peakOf is 0: how much memory a process held is asked of Linux only.
func peakOf(_ int, ended <-chan struct{}) <-chan int64 {
	peak := make(chan int64, 1)
	go func() { <-ended; peak <- 0 }()
	return peak
}
