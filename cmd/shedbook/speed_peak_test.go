//go:build !unix

package main

import "os"

// peakOf is 0: this system does not say how much memory a process held.
func peakOf(*os.ProcessState) int64 { return 0 }
