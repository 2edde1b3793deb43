//go:build !linux

package main

func spareDisk() {}
