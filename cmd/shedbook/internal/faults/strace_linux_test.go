package faults

import (
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// fault is what is done to one call: an error, or "KILL".
type fault struct {
	call
	with string
}

// strace is the line that traces a program into a file, and makes one call fail or be the last.
func (f *farm) strace(hit *fault) []string {
	f.t.Helper()
	path, err := exec.LookPath("strace")
	if err != nil {
		f.t.Fatal("no strace: apt-get install strace")
	}
	names := "?" + strings.Join(writing, ",?") // a 64-bit ARM has no rename, unlink or mkdir without "at"
	if hit != nil {
		names = hit.name
	}
	line := []string{path, "-f", "-q", "-y", "-s", "8", "-o", f.log(), "-e", "signal=none", "-e", "trace=" + names}
	if hit != nil {
		how := "error=" + hit.with
		if hit.with == "KILL" {
			how = "signal=KILL"
		}
		line = append(line, "-e", "inject="+hit.name+":"+how+":when="+strconv.Itoa(hit.number))
	}
	return line
}

func (f *farm) log() string { return filepath.Join(f.root, "trace") }

// under runs a command under strace.
func (f *farm) under(hit *fault, device string, args ...string) (answer, trace) {
	f.t.Helper()
	f.now = f.now.Add(1)
	a := run(f.t, f.command(device, f.strace(hit), args...))
	text, err := os.ReadFile(f.log())
	must(f.t, err)
	return a, parseTrace(string(text), f.live())
}
