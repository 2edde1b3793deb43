package main

import (
	"crypto/sha256"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// Reproducible (reproducible-builds.org): two clones of one commit in folders of different names and lengths, one built with an environment that asks for other flags, give the same
// files. The full run builds for this system, and has sha256sum check the sums; the plain one only sees the environment put right, for a build takes a minute.
func TestReleaseTwice(t *testing.T) {
	if os.Getenv("SHEDBOOK_TEST") != "full" {
		return
	}
	root, some := t.TempDir(), []string{runtime.GOOS + "/" + runtime.GOARCH}
	source := committed(t, root)
	var all []map[string]string
	for i, name := range []string{"a", "a folder with a longer name"} {
		clone, out := filepath.Join(root, name), filepath.Join(root, fmt.Sprint("out", i))
		if text, err := exec.Command("git", "-c", "safe.directory=*", "clone", "-q", source, clone).CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		if i == 1 {
			t.Setenv("GOFLAGS", "-tags=other")
			t.Setenv("GOAMD64", "v3")
			t.Setenv("GOCACHE", filepath.Join(root, "cache"))
		}
		if err := release(clone, out, some); err != nil {
			t.Fatal(err)
		}
		all = append(all, digests(t, out))
		if text, err := command(out, "sha256sum", "-c", "SHA256SUMS"); err != nil || strings.Count(text, ": OK") != len(some)+1 {
			t.Errorf("%v\n%s", err, text)
		}
	}
	if len(all[0]) != len(some)+2 {
		t.Errorf("%d files", len(all[0]))
	}
	if diff := cmp.Diff(all[0], all[1]); diff != "" {
		t.Errorf("-one +other\n%s", diff)
	}
	own := filepath.Join(root, "out0", fmt.Sprintf("shedbook-%s-%s-%s", mustVersion(t), runtime.GOOS, runtime.GOARCH))
	text, err := command(root, own, "--version")
	if err != nil || !regexp.MustCompile(`^shedbook `+regexp.QuoteMeta(mustVersion(t))+` \(source [0-9a-f]{12}, `).MatchString(text) {
		t.Errorf("%v: %s", err, text)
	}
}

// committed is a repository of the files from which the program is made, whether or not these lie in one.
func committed(t *testing.T, root string) string {
	t.Helper()
	dir := filepath.Join(root, "source")
	for _, name := range []string{"cmd", "ledger", "rules", "testdata", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "CHANGELOG.md"} {
		from, to := filepath.Join("..", "..", name), filepath.Join(dir, name)
		info, err := os.Stat(from)
		if err != nil {
			t.Fatal(err)
		}
		if info.IsDir() {
			err = os.CopyFS(to, os.DirFS(from))
		} else if data, rerr := os.ReadFile(from); rerr != nil {
			err = rerr
		} else if err = os.MkdirAll(dir, 0o755); err == nil {
			err = os.WriteFile(to, data, 0o644)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	for _, args := range [][]string{{"init", "-q"}, {"add", "."}, {"-c", "user.name=a", "-c", "user.email=a@example.com", "-c", "commit.gpgsign=false", "commit", "-q", "-m", "all"}} {
		if text, err := command(dir, "git", args...); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
	}
	return dir
}

func mustVersion(t *testing.T) string {
	v, err := versionOf(filepath.Join("..", ".."))
	if err != nil {
		t.Fatal(err)
	}
	return v
}

func command(dir, name string, args ...string) (string, error) {
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	out, err := cmd.CombinedOutput()
	return string(out), err
}

func digests(t *testing.T, dir string) map[string]string {
	out := map[string]string{}
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		data, err := os.ReadFile(filepath.Join(dir, f.Name()))
		if err != nil {
			t.Fatal(err)
		}
		out[f.Name()] = fmt.Sprintf("%x", sha256.Sum256(data))
	}
	return out
}

func TestQuietEnvironment(t *testing.T) {
	got := quiet([]string{"PATH=/bin", "GOFLAGS=-tags=x", "GOAMD64=v3", "GOOS=plan9", "CGO_ENABLED=1"}, "GOOS=linux")
	for _, bad := range []string{"GOFLAGS=-tags=x", "GOAMD64=v3", "GOOS=plan9", "CGO_ENABLED=1"} {
		if slices.Contains(got, bad) {
			t.Errorf("%s is still heard", bad)
		}
	}
	for _, want := range []string{"PATH=/bin", "GOFLAGS=", "GOAMD64=v1", "GOOS=linux"} {
		if !slices.Contains(got, want) {
			t.Errorf("%s is missing", want)
		}
	}
}

// A folder that is there, changed files and a changelog without a version are refused, and nothing is left behind.
func TestReleaseRefuses(t *testing.T) {
	root := t.TempDir()
	git := func(args ...string) {
		t.Helper()
		args = append([]string{"-c", "user.name=a", "-c", "user.email=a@example.com", "-c", "commit.gpgsign=false"}, args...)
		if text, err := command(root, "git", args...); err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
	}
	if _, err := exec.LookPath("git"); err != nil {
		if os.Getenv("SHEDBOOK_TEST") == "full" {
			t.Fatal("git is not installed")
		}
		return
	}
	git("init", "-q")
	changelog := filepath.Join(root, "CHANGELOG.md")
	if err := os.WriteFile(changelog, []byte("# Changes\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "out")
	if err := release(root, out, nil); err == nil || !strings.Contains(err.Error(), "not as committed:\n?? CHANGELOG.md\n  next: commit") {
		t.Errorf("changed files: %v", err)
	}
	git("add", ".")
	git("commit", "-q", "-m", "begin")
	if err := release(root, out, nil); err == nil || !strings.Contains(err.Error(), "CHANGELOG.md names no version") {
		t.Errorf("no version: %v", err)
	}
	if _, err := os.Stat(out); err == nil {
		t.Error("the folder was left behind")
	}
	if err := release(root, t.TempDir(), nil); err == nil || !strings.Contains(err.Error(), "must be a new one") {
		t.Errorf("a folder that is there: %v", err)
	}
}
