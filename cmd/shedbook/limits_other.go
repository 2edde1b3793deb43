//go:build !unix

package main

// outliveLimits does nothing where there are no such limits.
func outliveLimits() {}
