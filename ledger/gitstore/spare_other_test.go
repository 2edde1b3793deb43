//go:build !linux

package gitstore

func spareDisk() {}
