//go:build !linux && !darwin

package gitstore

import "os"

// readImageFile reads a file: where a file that is mapped could not be replaced.
func readImageFile(path string, mapped bool) ([]byte, error) { return os.ReadFile(path) }
