//go:build !linux

// Package ramdisk has tests make their books in memory.
package ramdisk

// Use does nothing: only Linux has such a folder everywhere.
func Use() {}
