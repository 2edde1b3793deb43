// Package faults has tests only: they run the built program under strace, which makes one system call after another fail or kills the process there, and in
// folders, on disks and under clocks that misbehave. After each fault the book must open, verify, and hold every entry that was acknowledged, once.
//
// They run on Linux where SHEDBOOK_FAULTS is set and need strace, setpriv, prlimit and root (to mount a small disk); where something is missing they fail.
// SHEDBOOK_FAULTS=sample tries one call of each name on each kind of place, SHEDBOOK_FAULTS=all every call; SHEDBOOK_SEED draws another sample.
package faults

import (
	"os"
	"strconv"
	"testing"
)

// asked reports whether these tests are wanted: they take long and need more than Go.
func asked() bool { return os.Getenv("SHEDBOOK_FAULTS") != "" }

// every reports whether no call may be left out.
func every() bool { return os.Getenv("SHEDBOOK_FAULTS") == "all" }

func seed(t testing.TB) uint64 {
	text := os.Getenv("SHEDBOOK_SEED")
	if text == "" {
		return 20260401
	}
	n, err := strconv.ParseUint(text, 10, 64)
	if err != nil {
		t.Fatalf("SHEDBOOK_SEED: %v", err)
	}
	return n
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
