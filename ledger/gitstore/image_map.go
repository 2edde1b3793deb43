//go:build linux || darwin

package gitstore

import (
	"errors"
	"os"
	"syscall"
)

// readImageFile reads a file, or has it appear in memory as it lies on the disk.
func readImageFile(path string, mapped bool) ([]byte, error) {
	if !mapped {
		return os.ReadFile(path)
	}
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() == 0 || info.Size() != int64(int(info.Size())) {
		return nil, errors.New("a file of this size cannot be mapped")
	}
	return syscall.Mmap(int(f.Fd()), 0, int(info.Size()), syscall.PROT_READ, syscall.MAP_PRIVATE)
}
