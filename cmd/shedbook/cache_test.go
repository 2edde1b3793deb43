package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// TestPoisonedCache puts rubbish, and the cached pieces of one log under the name of another, into everything that may be deleted: an audit says the same to
// the byte, and so do show and due.
func TestPoisonedCache(t *testing.T) {
	setKeepAtLeast(t, 1)
	home, _ := season2026(t)
	stick := filepath.Join(t.TempDir(), "stick")
	home.must("sync", stick)
	b := home.another() // what is fetched lies packed, and the ends of logs in the cache
	b.must("join", stick, b.dir, "--me", "Jo Alder", "--device", "creek laptop")
	b.must("note", "drill", "hub 9 runs warm")
	lines := [][]string{{"audit"}, {"audit", "--json"}, {"show", "drill", "--json"}, {"due", "--json"}}
	var want []string
	for _, line := range lines {
		want = append(want, b.must(line...))
	}
	var files []string
	for _, name := range []string{"book.image", keptParts + ".kept", "due.kept"} {
		if b.keptFile(name) == nil {
			t.Fatalf("no %s is kept", name)
		}
	}
	if err := filepath.WalkDir(filepath.Join(b.dir, "cache"), func(path string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files = append(files, path)
		}
		return err
	}); err != nil || len(files) == 0 {
		t.Fatalf("%d files in the cache: %v", len(files), err)
	}
	first, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	for name, poison := range map[string][]byte{"rubbish": []byte("blob 3\nxyzcommit 99999999\n"), "half of it": first[:len(first)/2], "nothing": nil, "of another log": append([]byte("tree 0\n"), first...)} {
		for _, file := range files {
			if err := os.WriteFile(file, poison, 0o666); err != nil {
				t.Fatal(err)
			}
		}
		for i, line := range lines {
			if got := b.must(line...); got != want[i] {
				t.Errorf("%s, %v:\n%s\nwant\n%s", name, line, got, want[i])
			}
		}
	}
}
