// Command release builds what a release consists of into a new folder: the program for six systems, its manual page, and SHA256SUMS over them.
//
//	go run ./cmd/release OUT
//
// Whoever runs it on the same commit with the same version of Go gets the same bytes, on any system and in any folder: paths are trimmed, no C is compiled,
// the instruction set is the oldest that Go takes, and what the environment says of flags, workspaces and experiments is not heard. The commit is read from
// the clone, whose files must be as committed. SHA256SUMS has the form of sha256sum, so that `sha256sum -c SHA256SUMS` checks it.
package main

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"sort"
	"strings"
)

// targets are what a release is built for.
var targets = []string{"darwin/amd64", "darwin/arm64", "linux/amd64", "linux/arm64", "windows/amd64", "windows/arm64"}

func main() {
	if len(os.Args) != 2 || strings.HasPrefix(os.Args[1], "-") {
		fmt.Fprintln(os.Stderr, "release: name a new folder\n  next: go run ./cmd/release OUT")
		os.Exit(2)
	}
	if err := release(".", os.Args[1], targets); err != nil {
		fmt.Fprintf(os.Stderr, "release: %v\n", err)
		os.Exit(1)
	}
}

// release builds the clone in root for some targets into out, which must not be there yet; on an error nothing is left of it.
func release(root, out string, targets []string) (err error) {
	commit, err := commitOf(root)
	if err != nil {
		return err
	}
	out, err = filepath.Abs(out)
	if err != nil {
		return err
	}
	if err := os.Mkdir(out, 0o755); err != nil {
		return fmt.Errorf("the folder must be a new one: %w", err)
	}
	defer func() {
		if err != nil {
			os.RemoveAll(out)
		}
	}()
	version, err := versionOf(root)
	if err != nil {
		return err
	}
	for _, target := range targets {
		system, machine, _ := strings.Cut(target, "/")
		name := "shedbook-" + version + "-" + system + "-" + machine
		if system == "windows" {
			name += ".exe"
		}
		if err := build(root, filepath.Join(out, name), commit, system, machine); err != nil {
			return err
		}
		fmt.Println(name)
	}
	if err := manual(root, out, commit); err != nil {
		return err
	}
	return sums(out)
}

// commitOf is the commit whose files lie in root.
func commitOf(root string) (string, error) {
	changed, err := output(root, "git", "status", "--porcelain")
	if err != nil {
		return "", err
	}
	if changed != "" {
		return "", fmt.Errorf("files are not as committed:\n%s\n  next: commit or put them away, and say it again", changed)
	}
	return output(root, "git", "rev-parse", "HEAD")
}

var newest = regexp.MustCompile(`(?m)^## (\S+), \d{4}-\d{2}-\d{2}$`)

// versionOf is the newest version in CHANGELOG.md, which a test holds the program's to.
func versionOf(root string) (string, error) {
	text, err := os.ReadFile(filepath.Join(root, "CHANGELOG.md"))
	if err != nil {
		return "", err
	}
	m := newest.FindSubmatch(text)
	if m == nil {
		return "", errors.New("CHANGELOG.md names no version: its newest heading is to read \"## 1.2.3, 2027-01-31\"")
	}
	return string(m[1]), nil
}

// build compiles the program for one system, without the tables that only debuggers read: a third of its size.
func build(root, file, commit, system, machine string) error {
	cmd := exec.Command("go", "build", "-trimpath", "-buildvcs=false", "-mod=readonly", "-ldflags", "-s -w -buildid= -X main.commit="+commit, "-o", file, "./cmd/shedbook")
	cmd.Dir = root
	cmd.Env = quiet(os.Environ(), "CGO_ENABLED=0", "GOOS="+system, "GOARCH="+machine)
	if text, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("%s/%s: %w\n%s", system, machine, err, text)
	}
	return nil
}

// manual has a program built here print its manual page.
func manual(root, out, commit string) error {
	program := filepath.Join(out, "shedbook.tmp.exe")
	if err := build(root, program, commit, runtime.GOOS, runtime.GOARCH); err != nil {
		return err
	}
	defer os.Remove(program)
	page, err := output(root, program, "help", "--man")
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(out, "shedbook.1"), []byte(page+"\n"), 0o644)
}

// sums writes the digests of all files in out.
func sums(out string) error {
	files, err := os.ReadDir(out)
	if err != nil {
		return err
	}
	var lines []string
	for _, f := range files {
		if strings.HasSuffix(f.Name(), ".tmp.exe") {
			continue
		}
		data, err := os.ReadFile(filepath.Join(out, f.Name()))
		if err != nil {
			return err
		}
		lines = append(lines, fmt.Sprintf("%x  %s\n", sha256.Sum256(data), f.Name()))
	}
	sort.Slice(lines, func(i, j int) bool { return lines[i][66:] < lines[j][66:] })
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(strings.Join(lines, "")), 0o644)
}

// quiet is an environment without what would change what the compiler makes, and with some more.
func quiet(environ []string, more ...string) []string {
	var out []string
	for _, v := range environ {
		name, _, _ := strings.Cut(v, "=")
		switch name {
		case "GOFLAGS", "GOWORK", "GOEXPERIMENT", "GOAMD64", "GOARM64", "GOFIPS140", "GODEBUG", "CGO_ENABLED", "GOOS", "GOARCH":
			continue
		}
		out = append(out, v)
	}
	return append(append(out, "GOFLAGS=", "GOWORK=off", "GOEXPERIMENT=", "GOAMD64=v1", "GOARM64=v8.0", "GOFIPS140=off", "GOENV=off"), more...)
}

func output(dir, name string, args ...string) (string, error) {
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	var said strings.Builder
	cmd.Stderr = &said
	out, err := cmd.Output()
	if err != nil {
		return "", fmt.Errorf("%s %s: %w\n%s", name, strings.Join(args, " "), err, said.String())
	}
	return strings.TrimRight(string(out), "\n"), nil
}
